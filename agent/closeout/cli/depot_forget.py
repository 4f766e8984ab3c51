"""`closeout depot forget`: a customer's unit taken out of the ledger, and proof that it is gone.

All rows and bytes of the unit are deleted, the ledger is written anew and searched for what named
it. Its reports are refused by their digests when they come again. With `--older-than` the personal
things of old reports go, and what statistics are made of stays.
"""

from __future__ import annotations

import argparse
import os
from collections.abc import Iterator
from typing import TYPE_CHECKING, Final

from closeout.cli.ledger_option import add_ledger_argument, find_ledger
from closeout.cli.progress import clear_line, rewrite_line
from closeout.cli.surroundings import Surroundings
from closeout.cli.trouble import DONE, ExitCode, InputTroubleError
from closeout.cli.typed_text import read_reason
from closeout.cli.words import say_line

if TYPE_CHECKING:
    from closeout.depot.forget import Removed
    from closeout.depot.ledger import Ledger
    from closeout.depot.proof import Searched

DAY: Final = 86_400
OLDEST: Final = 36_500
AGED: Final = "older than {days} days"
NOTHING: Final = "name a unit by a serial, or say --older-than DAYS, or --sweep"
ONE_ALONE: Final = "SERIAL, --older-than and --sweep: one of them"
NO_REASON: Final = "--reason is needed: why the unit is forgotten"
NONE_FOUND: Final = (
    "no unit in the ledger has it; where a forget was interrupted, `forget --sweep` finishes it"
)
SEVERAL: Final = "several units have it: {units}; name one of them as it stands here"
PERSONAL_REASON: Final = "--reason holds what is to be forgotten; say it without"
UNDATED: Final = (
    "Not touched: {count} reports that are dated before 2026 or in the future, by a clock that was"
    " not set. How old they are is not known: forget their units by their serials."
)
FILE_NOT_REACHED: Final = (
    "Not reached: backups, exports, sticks, copies and pages handed on, and blocks that the disk"
    " has freed but not yet written over."
)
SERVER_NOT_REACHED: Final = (
    "Not reached: backups, exports, sticks, copies and pages handed on; and of the server its"
    " write-ahead log and archives of it, replicas, and blocks of its disk. VACUUM FULL wrote the"
    " tables anew, and no more."
)


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Adds what to forget, why, and the ledger."""
    parser.add_argument(
        "serial", metavar="SERIAL", nargs="?", help="of the unit, as `depot unit` takes it"
    )
    add_ledger_argument(parser)
    parser.add_argument("--reason", metavar="TEXT", help="why, in a line; it is kept")
    parser.add_argument(
        "--older-than", metavar="DAYS", type=int, help="the personal things of reports of that age"
    )
    parser.add_argument(
        "--sweep", action="store_true", help="only write the ledger anew, after others read in it"
    )


def run(options: argparse.Namespace, surroundings: Surroundings) -> ExitCode:
    """Forgets; ends with 2 where anything of the unit is left."""
    named = [options.serial is not None, options.older_than is not None, options.sweep]
    if sum(named) != 1:
        raise InputTroubleError(ONE_ALONE if any(named) else NOTHING)
    ledger = find_ledger(options, surroundings)
    try:
        if options.sweep:
            return _sweep(ledger, surroundings)
        if options.serial is not None:
            return _forget_one(options, ledger, surroundings)
        return _forget_old(options, ledger, surroundings)
    finally:
        ledger.close()


def _sweep(ledger: Ledger, surroundings: Surroundings) -> ExitCode:
    from closeout.depot.proof import sweep  # noqa: PLC0415 - the depot's libraries

    sweep(ledger)
    say_line(f"Written anew: {ledger.name}.", surroundings.stdout)
    return DONE


def _forget_one(
    options: argparse.Namespace, ledger: Ledger, surroundings: Surroundings
) -> ExitCode:
    from closeout.depot.forget import forget_unit  # noqa: PLC0415 - the depot's libraries
    from closeout.depot.proof import search, sweep  # noqa: PLC0415 - as above

    if not options.reason:
        raise InputTroubleError(NO_REASON)
    unit = _find_unit(options.serial, ledger)
    reason = _read_reason(options, ledger, unit)
    removed = forget_unit(ledger, unit, reason, int(surroundings.now()))
    say_line(f"Forgotten: {unit}: {_counted(removed)}: {reason}.", surroundings.stdout)
    sweep(ledger)
    searched = search(ledger, removed, lambda done, of: _say_progress(done, of, surroundings))
    if surroundings.stderr.isatty():
        clear_line(surroundings.stderr)
    for line in _tell(ledger, removed, searched):
        say_line(line, surroundings.stdout)
    return ExitCode.BAD_INPUT if searched.found else DONE


def _say_progress(done: int, count: int, surroundings: Surroundings) -> None:
    """At a terminal how far the search is."""
    if surroundings.stderr.isatty():
        rewrite_line(surroundings.stderr, f"searched: {done:,} of {count:,} kept files")


def _find_unit(serial: str, ledger: Ledger) -> str:
    from closeout.depot.life import find_units  # noqa: PLC0415 - the depot's libraries

    with ledger.reading() as connection:
        units = sorted({match.unit for match in find_units(connection, serial)})
    if not units:
        raise InputTroubleError(f"{serial}: {NONE_FOUND}")
    if len(units) > 1:
        raise InputTroubleError(f"{serial}: {SEVERAL.format(units='; '.join(units))}")
    return units[0]


def _read_reason(options: argparse.Namespace, ledger: Ledger, unit: str) -> str:
    """The reason, which is kept, and so must not name what is to be forgotten."""
    from closeout.depot.columns import values_of  # noqa: PLC0415 - the depot's libraries
    from closeout.depot.tables import report  # noqa: PLC0415 - as above

    reason = read_reason(options.reason, "--reason")
    with ledger.reading() as connection:
        values = values_of(connection, report.c.unit == unit)
    if any(value in reason.upper() for value in values):
        raise InputTroubleError(PERSONAL_REASON)
    return reason


def _forget_old(
    options: argparse.Namespace, ledger: Ledger, surroundings: Surroundings
) -> ExitCode:
    from closeout.depot.forget import count_undated, forget_before  # noqa: PLC0415 - the depot's libraries
    from closeout.depot.proof import sweep  # noqa: PLC0415 - as above

    days = options.older_than
    if not 0 < days <= OLDEST:
        raise InputTroubleError(f"--older-than: {days}: days from 1 to {OLDEST} are allowed")
    reason = read_reason(options.reason or AGED.format(days=days), "--reason")
    now = int(surroundings.now())
    removed = forget_before(ledger, now - days * DAY, os.urandom(32), reason, now)
    sweep(ledger)
    say_line(
        f"Of {removed.reports} reports, {removed.files} files and all that names a unit are"
        " gone; verdicts, findings and repairs stay.",
        surroundings.stdout,
    )
    with ledger.reading() as connection:
        undated = count_undated(connection, now)
    if undated:
        say_line(UNDATED.format(count=undated), surroundings.stdout)
    say_line(_not_reached(ledger), surroundings.stdout)
    return DONE


def _tell(ledger: Ledger, removed: Removed, searched: Searched) -> Iterator[str]:
    """What was searched, where, and what was found."""
    sought = f"{len(removed.values - removed.elsewhere)} values in {searched.spellings} spellings"
    pieces = f", {searched.pieces} pieces of the files" if searched.pieces else ""
    yield f"Searched for {sought}{pieces}: {', '.join(searched.places)}."
    for value in sorted(removed.elsewhere):
        yield f"Not sought: {value}, which another unit in the ledger has too."
    if searched.found:
        for what in searched.found:
            yield f"FOUND: {what}."
    else:
        yield "Found: nothing."
    yield _not_reached(ledger)


def _not_reached(ledger: Ledger) -> str:
    return FILE_NOT_REACHED if ledger.is_file else SERVER_NOT_REACHED


def _counted(removed: Removed) -> str:
    return f"{removed.reports} reports, {removed.files} files"
