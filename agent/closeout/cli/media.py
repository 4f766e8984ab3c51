"""`closeout media`: the stick that boots a unit into the check."""

from __future__ import annotations

import argparse
from importlib import import_module
from typing import Final

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
    actions = parser.add_subparsers(dest="action", required=True, metavar="ACTION")
    for name, module_name, summary in ACTIONS:
        module = import_module(f"closeout.cli.{module_name}")
        action = actions.add_parser(name, help=summary, description=module.__doc__)
        module.add_arguments(action)
        action.set_defaults(act=module.run)


def run(options: argparse.Namespace, surroundings: Surroundings) -> ExitCode:
    """Runs the one that was named."""
    ending: ExitCode = options.act(options, surroundings)
    return ending
