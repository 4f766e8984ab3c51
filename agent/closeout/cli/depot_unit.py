"""`closeout depot unit`: the life of one unit over orders and parts.

SERIAL is that of the label, of the system board, of a drive, pack or fitted part, a UUID, an
address, the number of an order, or the unit's name in the ledger; what of it matched is said.
"""

from __future__ import annotations

import argparse

from closeout.cli.ledger_option import add_ledger_argument, find_ledger
from closeout.cli.surroundings import Surroundings
from closeout.cli.trouble import DONE, ExitCode, InputTroubleError
from closeout.cli.words import say_json, say_line

NONE_FOUND = (
    "no unit in the ledger has it: not as label, board, address, part, order, nor as its name"
)


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Adds serial, ledger and form."""
    parser.add_argument(
        "serial",
        metavar="SERIAL",
        help="of the unit, its board or a part; or the number of an order",
    )
    add_ledger_argument(parser)
    parser.add_argument("--json", action="store_true", help="one JSON object")


def run(options: argparse.Namespace, surroundings: Surroundings) -> ExitCode:
    """Tells the life of every unit that has the serial."""
    from closeout.depot.life import find_by_order, find_units, tell_life  # noqa: PLC0415 - the depot's libraries
    from closeout.depot.life_words import lines_of  # noqa: PLC0415 - as above

    ledger = find_ledger(options, surroundings)
    with ledger.reading() as connection:
        matches = find_units(connection, options.serial)
        matches += find_by_order(connection, options.serial)
        units = sorted({match.unit for match in matches})
        lives = [tell_life(connection, unit) for unit in units]
    ledger.close()
    if not matches:
        raise InputTroubleError(f"{options.serial}: {NONE_FOUND}")
    matched = [{"unit": match.unit, "by": match.by} for match in matches]
    if options.json:
        say_json({"asked": options.serial, "matched": matched, "units": lives}, surroundings)
        return DONE
    for match in matches:
        say_line(f"{options.serial} is the {match.by} of {match.unit}", surroundings.stdout)
    if len(units) > 1:
        say_line(f"{len(units)} units have it; here is each:", surroundings.stdout)
    for life in lives:
        for line in lines_of(life):
            say_line(line, surroundings.stdout)
    return DONE
