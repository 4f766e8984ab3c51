"""`closeout depot summary`: what all reports add up to.

Yields with their intervals, findings, advised reseats and minutes lost, for all orders and by
model, repair, station and week; units that came back, and old sticks. Units in it are personal
data; --redact masks them.
"""

from __future__ import annotations

import argparse
from collections.abc import Collection
from contextlib import closing
from pathlib import Path
from typing import Final

from closeout.cli.asked_index import add_days_argument, add_index_arguments, find_index, read_days
from closeout.cli.plain import make_screen
from closeout.cli.surroundings import Surroundings
from closeout.cli.trouble import DONE, ExitCode, InputTroubleError
from closeout.cli.words import say_json, say_line
from closeout.expect.mistake import list_words, nearest
from closeout.report.failure import StoreError
from closeout.report.store import replace_file

MOST_NAMES: Final = 8
GROUPS: Final = ("model", "repair", "station", "week")


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Adds what is asked, and the forms of the answer."""
    add_index_arguments(parser)
    add_days_argument(parser, "a unit came back if it did so within N days")
    parser.add_argument(
        "--stale-days",
        metavar="N",
        type=int,
        default=30,
        help="a stick is old if it is more than N days behind the newest (else: 30)",
    )
    for name in GROUPS:
        parser.add_argument(
            f"--{name}",
            metavar="NAME" if name != "week" else "WEEK",
            help=f"only orders of this {name}" + (", as 2026-W48" if name == "week" else ""),
        )
    parser.add_argument("--json", action="store_true", help="one JSON object")
    parser.add_argument("--csv", metavar="FILE", type=Path, help="every figure, a row each")
    parser.add_argument("--html", metavar="FILE", type=Path, help="a page with charts")
    parser.add_argument("--redact", action="store_true", help="mask the units that came back")


def run(options: argparse.Namespace, surroundings: Surroundings) -> ExitCode:
    """Adds up, and says it; files that are named are written anew."""
    days, stale = read_days(options.days), read_days(options.stale_days, "--stale-days")
    index = find_index(options, surroundings)
    from closeout.depot.pages.summary_page import render_summary_page  # noqa: PLC0415 - as asked
    from closeout.depot.pages.summary_tables import render_summary_csv, tree_of_summary  # noqa: PLC0415
    from closeout.depot.summary import Terms, names_of, sum_up  # noqa: PLC0415 - the depot's libraries

    only = {name: getattr(options, name) for name in GROUPS if getattr(options, name) is not None}
    terms = Terms(days=days, stale_days=stale, now=int(surroundings.now()), only=only)
    with closing(index):
        for name, wanted in only.items():
            _refuse_unknown(name, wanted, names_of(index, name))
        summary = sum_up(index, terms)
    if options.redact:
        from closeout.depot.pages.hiding import hide_units  # noqa: PLC0415 - as asked

        summary = hide_units(summary)
    written: list[Path] = []
    if options.csv:
        written.append(_write(surroundings.folder / options.csv, render_summary_csv(summary)))
    if options.html:
        page = render_summary_page(summary).encode("utf-8")
        written.append(_write(surroundings.folder / options.html, page))
    if options.json:
        say_json(tree_of_summary(summary), surroundings)
        return DONE
    from closeout.depot.pages.summary_console import render_summary  # noqa: PLC0415 - for words

    render_summary(summary, make_screen(surroundings.stdout))
    for file in written:
        say_line(f"Written: {file}", surroundings.stdout)
    return DONE


def _refuse_unknown(group: str, wanted: str, names: Collection[str]) -> None:
    """Raises InputTroubleError where no order has this name, and which there are."""
    if wanted in names:
        return
    known = [name or "not told" for name in names]
    told = f"there is no order of {wanted!r}{nearest(wanted, names)}"
    some = f"; known: {list_words(known[-MOST_NAMES:])}" if known else ""
    raise InputTroubleError(f"--{group}: {told}{some}")


def _write(file: Path, content: bytes) -> Path:
    try:
        replace_file(file, content)
    except StoreError as error:
        raise InputTroubleError(str(error)) from error
    return file
