"""`closeout show`: the inventory alone, without judging."""

from __future__ import annotations

import argparse

from closeout.check import read_out
from closeout.cli.source import add_source_arguments, gather_evidence
from closeout.cli.surroundings import Surroundings
from closeout.cli.trouble import DONE, ExitCode
from closeout.cli.words import say_inventory
from closeout.expect.kernel_log import load_log_rules
from closeout.judge.kernel_log import sort_messages


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Adds the source and the form."""
    add_source_arguments(parser, quiet=False)
    parser.add_argument("--json", action="store_true", help="print JSON and nothing else")


def run(options: argparse.Namespace, surroundings: Surroundings) -> ExitCode:
    """Lists every device with the state of every reading."""
    readout = read_out(gather_evidence(options, surroundings))
    inventory = sort_messages(readout.inventory, load_log_rules())
    say_inventory(inventory, surroundings, as_json=options.json)
    return DONE
