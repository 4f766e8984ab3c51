"""The actions of a command, each in a module of its own in this package."""

from __future__ import annotations

import argparse
from collections.abc import Iterable
from importlib import import_module


def add_actions(parser: argparse.ArgumentParser, named: Iterable[tuple[str, str, str]]) -> None:
    """Adds each by name, module and summary; `act` of the options is the one that was chosen."""
    actions = parser.add_subparsers(dest="action", required=True, metavar="ACTION")
    for name, module_name, summary in named:
        module = import_module(f"closeout.cli.{module_name}")
        action = actions.add_parser(name, help=summary, description=module.__doc__)
        module.add_arguments(action)
        action.set_defaults(act=module.run)
