"""Which reports a question is asked of: the ledger, or an export of it, from a month on."""

from __future__ import annotations

import argparse
import os
from pathlib import Path
from typing import TYPE_CHECKING, Final

from closeout.cli.ledger_option import FILE, LEDGER, add_ledger_argument, find_ledger
from closeout.cli.surroundings import Surroundings
from closeout.cli.trouble import InputTroubleError
from closeout.depot.failure import LedgerError
from closeout.model.late_pattern import late_pattern

if TYPE_CHECKING:
    from closeout.depot.questions.opening import Index

MONTH: Final = late_pattern(r"[0-9]{4}-(0[1-9]|1[0-2])")
LONGEST: Final = 3650
NEEDED: Final = "questions need the library {name}: install closeout[{extra}]"
EXTRAS: Final = {
    **dict.fromkeys(("alembic", "duckdb", "ibis", "numpy", "pandas", "pyarrow"), "depot"),
    **dict.fromkeys(("scipy", "sqlalchemy", "sqlglot"), "depot"),
    **dict.fromkeys(("psycopg",), "postgres"),
    **dict.fromkeys(("pyspark",), "spark"),
}


def add_index_arguments(parser: argparse.ArgumentParser) -> None:
    """Adds where the reports are, and from when on they count."""
    add_ledger_argument(parser)
    parser.add_argument(
        "--export", metavar="DIR", type=Path, help="an export in place of the ledger; quicker"
    )
    parser.add_argument(
        "--spark", metavar="MASTER", default="", help="Spark reads the export, as local[4]"
    )
    parser.add_argument(
        "--since",
        metavar="MONTH",
        default="",
        help="only what began in this month, as 2026-07, or later",
    )


def add_days_argument(parser: argparse.ArgumentParser, what: str) -> None:
    """Adds within how many days a unit comes back."""
    parser.add_argument("--days", metavar="N", type=int, default=30, help=f"{what} (else: 30)")


def find_index(options: argparse.Namespace, surroundings: Surroundings) -> Index:
    """The tables that are asked. Raises InputTroubleError where there are none."""
    if options.since and not MONTH.fullmatch(options.since):
        raise InputTroubleError(f"--since: {options.since!r} is no month such as 2026-07")
    if options.export and options.ledger:
        raise InputTroubleError("--ledger and --export: give one of them")
    if options.spark and not options.export:
        raise InputTroubleError("--spark reads an export: give its folder with --export DIR")
    try:
        from closeout.depot.questions.opening import OpeningError, open_index  # noqa: PLC0415
    except ImportError as error:
        raise trouble_of(error) from error
    try:
        index = open_index(_place(options, surroundings), options.spark)
    except (LedgerError, OpeningError) as error:
        raise InputTroubleError(str(error)) from error
    except ImportError as error:
        raise trouble_of(error) from error
    return index.since(options.since) if options.since else index


def read_days(days: int, name: str = "--days") -> int:
    """The days, if they are some and no more than ten years. Raises InputTroubleError."""
    if not 1 <= days <= LONGEST:
        raise InputTroubleError(f"{name}: {days} is none of 1 to {LONGEST} days")
    return days


def trouble_of(error: ImportError) -> InputTroubleError:
    """What to install for the library that is missing; the error itself for any other."""
    name = (error.name or "").partition(".")[0]
    if name not in EXTRAS:
        raise error
    return InputTroubleError(NEEDED.format(name=name, extra=EXTRAS[name]))


def _place(options: argparse.Namespace, surroundings: Surroundings) -> str:
    """The folder of an export, or the address of a ledger that has the tables of this version."""
    if options.export:
        return str(surroundings.folder / options.export)
    folder = surroundings.folder / (options.ledger or os.environ.get(LEDGER) or FILE)
    if folder.is_dir():
        return str(folder)
    from closeout.depot.address import SERVER  # noqa: PLC0415 - needs the depot's libraries

    ledger = find_ledger(options, surroundings)
    ledger.close()
    if ledger.is_file:
        return str(ledger.file)
    return ledger.url.set(drivername=SERVER).render_as_string(hide_password=False)
