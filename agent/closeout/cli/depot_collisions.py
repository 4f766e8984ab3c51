"""`closeout depot collisions`: what cannot be seen of one unit alone.

The same serial, address, licence, drive or board on two units; a station whose findings differ from
the others'; a demand that nearly every unit of a model fails; a part number that fails early.
Serials in it are personal data; --redact masks them, and an export with tokens shows none.
"""

from __future__ import annotations

import argparse
from contextlib import closing
from typing import TYPE_CHECKING

from closeout.cli.asked_index import add_days_argument, add_index_arguments, find_index, read_days
from closeout.cli.plain import make_screen
from closeout.cli.surroundings import Surroundings
from closeout.cli.trouble import DONE, ExitCode, InputTroubleError
from closeout.cli.words import say_json
from closeout.depot.weeks import RULE, Weeks, is_week, weeks_until, whole_weeks

if TYPE_CHECKING:
    from closeout.depot.questions.opening import Index

MOST_WEEKS = 53


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Adds what is asked, and the form of the answer."""
    add_index_arguments(parser)
    parser.add_argument(
        "--weeks", metavar="N", type=int, default=4, help="stations over N whole weeks (else: 4)"
    )
    parser.add_argument(
        "--until",
        metavar="WEEK",
        help="the last of them, as 2026-W48 (else: the last that is over)",
    )
    add_days_argument(parser, "a part failed early if the unit is back within N days")
    parser.add_argument("--json", action="store_true", help="one JSON object, every list whole")
    parser.add_argument("--redact", action="store_true", help="mask serials and addresses")


def run(options: argparse.Namespace, surroundings: Surroundings) -> ExitCode:
    """Looks, and says what it found; that something was found is no failure of the command."""
    days = read_days(options.days)
    _check_weeks(options)
    index = find_index(options, surroundings)
    from closeout.depot.collisions import find_collisions  # noqa: PLC0415 - the depot's libraries
    from closeout.depot.pages import collision_words as words  # noqa: PLC0415 - as above

    with closing(index):
        now = surroundings.now()
        found = find_collisions(index, _weeks(options, index, now), days, int(now))
    veil = words.masked if options.redact else words.as_it_is
    if options.json:
        from closeout.depot.pages.collisions_tree import tree_of_collisions  # noqa: PLC0415

        say_json(tree_of_collisions(found, veil), surroundings)
        return DONE
    from closeout.depot.pages.collisions_console import render_collisions  # noqa: PLC0415

    render_collisions(found, make_screen(surroundings.stdout), veil)
    return DONE


def _check_weeks(options: argparse.Namespace) -> None:
    if not 1 <= options.weeks <= MOST_WEEKS:
        raise InputTroubleError(f"--weeks: {options.weeks} is none of 1 to {MOST_WEEKS}")
    if options.until and not is_week(options.until):
        raise InputTroubleError(f"--until: {options.until!r} is not {RULE}")


def _weeks(options: argparse.Namespace, index: Index, now: float) -> Weeks:
    if options.until:
        return weeks_until(options.until, options.weeks)
    from closeout.depot.collisions import newest_week  # noqa: PLC0415 - the depot's libraries

    return whole_weeks(now, newest_week(index), options.weeks)
