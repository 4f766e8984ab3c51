"""`closeout depot`: the ledger of all reports, what it holds and what it says."""

from __future__ import annotations

import argparse
from typing import Final

from closeout.cli.actions import add_actions
from closeout.cli.surroundings import Surroundings
from closeout.cli.trouble import ExitCode, InputTroubleError
from closeout.depot.failure import LedgerError

ACTIONS: Final = (
    ("add", "depot_add", "take reports into the ledger: files, folders, sticks, archives"),
    ("unit", "depot_unit", "the life of one unit, over orders and parts"),
    ("set-aside", "depot_set_aside", "list what was not taken, and why"),
    ("summary", "depot_summary", "what all reports add up to: yields, findings, returns"),
    ("collisions", "depot_collisions", "what collides across units, and what stands out"),
    ("export", "depot_export", "the index as tables that other programs read"),
    ("backup", "depot_backup", "a whole copy of the ledger, while it is in use"),
    ("restore", "depot_restore", "an empty ledger filled from a backup"),
    ("forget", "depot_forget", "take a customer's unit out of the ledger, and prove it"),
    ("check", "depot_check", "judge many recordings at once, by the other door"),
)
"""Each with its module in this package; none of them loads the libraries until it runs."""
LIBRARIES: Final = frozenset({"alembic", "joserfc", "pyarrow", "pypdf", "sqlalchemy"})
NEEDED: Final = "a ledger needs the library {name}: install closeout[depot]"


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Adds the actions."""
    add_actions(parser, ACTIONS)


def run(options: argparse.Namespace, surroundings: Surroundings) -> ExitCode:
    """Runs the one that was named; whatever is wrong with a ledger is one line."""
    try:
        ending: ExitCode = options.act(options, surroundings)
    except LedgerError as error:
        raise InputTroubleError(str(error)) from error
    except ImportError as error:
        name = (error.name or "").partition(".")[0]
        if name not in LIBRARIES:
            raise
        raise InputTroubleError(NEEDED.format(name=name)) from error
    return ending
