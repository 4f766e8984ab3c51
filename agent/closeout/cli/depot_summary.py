"""`closeout depot summary`: what all reports add up to.

Yields with their intervals, findings, first steps and minutes lost, units that came back and old
sticks; by model, repair, station and week. Units in it are personal data; --redact masks them.
"""

from __future__ import annotations

import argparse
from contextlib import closing
from pathlib import Path

from closeout.cli.asked_index import add_days_argument, add_index_arguments, find_index, read_days
from closeout.cli.plain import make_screen
from closeout.cli.surroundings import Surroundings
from closeout.cli.trouble import DONE, ExitCode, InputTroubleError
from closeout.cli.words import say_json, say_line
from closeout.report.failure import StoreError
from closeout.report.store import replace_file


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
    from closeout.depot.summary import Terms, sum_up  # noqa: PLC0415 - the depot's libraries

    terms = Terms(days=days, stale_days=stale, now=int(surroundings.now()))
    with closing(index):
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


def _write(file: Path, content: bytes) -> Path:
    try:
        replace_file(file, content)
    except StoreError as error:
        raise InputTroubleError(str(error)) from error
    return file
