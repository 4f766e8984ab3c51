"""`closeout depot add`: reports taken into the ledger, each once.

What is damaged, or not what a station sealed, is set aside with its reason, and the others go on.
A report without a seal is taken and marked, unless `--require-seal` is given.
"""

from __future__ import annotations

import argparse
import os
from collections import Counter
from pathlib import Path
from typing import TYPE_CHECKING, Final

from closeout.cli.lead import add_lead_argument, find_lead
from closeout.cli.ledger_option import add_ledger_argument, find_address
from closeout.cli.progress import clear_line, rewrite_line
from closeout.cli.report_verify import STATIONS
from closeout.cli.station_records import load_station, load_stations
from closeout.cli.surroundings import Surroundings
from closeout.cli.trouble import DONE, ExitCode
from closeout.cli.words import say_line

if TYPE_CHECKING:
    from closeout.depot.examine import Terms
    from closeout.depot.intake import Step
    from closeout.depot.ledger import Ledger

WORDS: Final = (
    ("added", "added"),
    ("completed", "completed by what lay beside them now"),
    ("known", "known already"),
    ("forgotten", "forgotten here once, and not taken again"),
    ("set_aside", "set aside"),
    ("unread", "not read"),
)
UNPROVEN: Final = (
    "{count} of those added are not proven by a seal: none beside them, of a key that is not known"
    " here, or dated before the key's first day."
)


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Adds paths, ledger and what is asked of a seal."""
    parser.add_argument(
        "paths",
        metavar="PATH",
        nargs="+",
        type=Path,
        help="a report, a document, a folder, a mounted stick, or an archive (zip, tar, tar.gz,"
        " tar.xz, tar.bz2)",
    )
    add_ledger_argument(parser)
    parser.add_argument(
        "--stations",
        metavar="DIR",
        type=Path,
        help=f"folder of the public records of all stations (else: ${STATIONS})",
    )
    parser.add_argument(
        "--require-seal", action="store_true", help="set aside what no known station sealed"
    )
    add_lead_argument(parser)
    parser.add_argument("--quiet", action="store_true", help="no progress, the sum alone")


def run(options: argparse.Namespace, surroundings: Surroundings) -> ExitCode:
    """Takes them in; ends with 2 where anything was not taken."""
    from closeout.depot import examine  # noqa: PLC0415 - needs the depot's libraries
    from closeout.depot.ledger import make_ledger  # noqa: PLC0415 - as above

    folder = options.stations or (Path(told) if (told := os.environ.get(STATIONS)) else None)
    stations = load_stations(folder) if folder else ()
    lead = find_lead(options)
    terms = examine.Terms(
        stations=stations,
        requires_seal=options.require_seal,
        lead=load_station(lead).code if lead else "",
    )
    ledger = make_ledger(find_address(options, surroundings))
    try:
        counted = _take_all(options, ledger, terms, surroundings)
    finally:
        ledger.close()
    sums = [f"{counted[name]} {word}" for name, word in WORDS if counted[name] or name == "added"]
    say_line(f"{', '.join(sums)}.", surroundings.stdout)
    if counted["unproven"]:
        say_line(UNPROVEN.format(count=counted["unproven"]), surroundings.stdout)
    return ExitCode.BAD_INPUT if counted["set_aside"] or counted["unread"] else DONE


def _take_all(
    options: argparse.Namespace, ledger: Ledger, terms: Terms, surroundings: Surroundings
) -> Counter[str]:
    from closeout.depot.folders import find_arrivals  # noqa: PLC0415 - the depot's libraries
    from closeout.depot.intake import take_in  # noqa: PLC0415 - as above

    counted: Counter[str] = Counter()
    paths = [surroundings.folder / path for path in options.paths]
    now = int(surroundings.now())
    for step in take_in(find_arrivals(paths), ledger, terms, now):
        for name in ("added", "completed", "known", "forgotten", "unproven"):
            counted[name] += getattr(step, name)
        _say_spoiled(step, counted, surroundings)
        if not options.quiet:
            _say_progress(counted, surroundings)
    if not options.quiet and surroundings.stderr.isatty():
        clear_line(surroundings.stderr)
    return counted


def _say_spoiled(step: Step, counted: Counter[str], surroundings: Surroundings) -> None:
    for one in step.spoiled:
        state = "set aside" if one.digest else "not read"
        counted["set_aside" if one.digest else "unread"] += 1
        say_line(f"closeout: {one.place}: {state}: {one.reason}", surroundings.stderr)


def _say_progress(counted: Counter[str], surroundings: Surroundings) -> None:
    """How far it is: what is said is on the disk."""
    names = ("added", "completed", "known")
    seen = sum(counted[name] for name in names)
    stream = surroundings.stderr
    reports = "report" if seen == 1 else "reports"
    line = f"kept: {seen} {reports}, {counted['added']} of them new"
    if stream.isatty():
        rewrite_line(stream, line)
    else:
        say_line(line, stream)
        stream.flush()
