"""`closeout media`: the stick that boots a unit into the check."""

from __future__ import annotations

import argparse
from typing import Final

from closeout.cli.actions import add_actions
from closeout.cli.surroundings import Surroundings
from closeout.cli.trouble import ExitCode

ACTIONS: Final = (
    ("build", "stick_build", "an image for USB, and files for a network start"),
    ("verify", "stick_verify", "whether a stick is what its manifest says"),
    ("reports", "stick_reports", "list the reports on a stick: intact, cut short or damaged"),
    ("update", "stick_update", "put orders, profiles or the agent on a stick"),
    ("card", "stick_card", "the card for units that do not boot the stick"),
)
"""Each with its module in this package."""


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Adds the actions."""
    add_actions(parser, ACTIONS)


def run(options: argparse.Namespace, surroundings: Surroundings) -> ExitCode:
    """Runs the one that was named."""
    ending: ExitCode = options.act(options, surroundings)
    return ending
