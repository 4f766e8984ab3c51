"""Which ledger: an option, a variable, or a file in the current folder."""

from __future__ import annotations

import argparse
import os
from typing import TYPE_CHECKING, Final

from closeout.cli.surroundings import Surroundings

if TYPE_CHECKING:
    from sqlalchemy import URL

    from closeout.depot.ledger import Ledger

LEDGER: Final = "CLOSEOUT_LEDGER"
FILE: Final = "closeout-ledger.sqlite"


def add_ledger_argument(parser: argparse.ArgumentParser) -> None:
    """Adds where the ledger is."""
    parser.add_argument(
        "--ledger",
        metavar="FILE|URL",
        help=f"a file, or postgresql://USER@HOST/NAME (else: ${LEDGER}, ./{FILE})",
    )


def find_address(options: argparse.Namespace, surroundings: Surroundings) -> URL:
    """Where the ledger is; raises LedgerError where that is no address."""
    from closeout.depot.address import read_address  # noqa: PLC0415 - needs the depot's libraries

    named = options.ledger or os.environ.get(LEDGER) or FILE
    return read_address(named, surroundings.folder)


def find_ledger(options: argparse.Namespace, surroundings: Surroundings) -> Ledger:
    """The ledger that is there; raises LedgerError where there is none."""
    from closeout.depot.ledger import open_ledger  # noqa: PLC0415 - needs the depot's libraries

    return open_ledger(find_address(options, surroundings))
