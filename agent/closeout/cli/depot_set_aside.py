"""`closeout depot set-aside`: what was not taken into the ledger, and why."""

from __future__ import annotations

import argparse
from time import gmtime, strftime

from closeout.cli.ledger_option import add_ledger_argument, find_ledger
from closeout.cli.surroundings import Surroundings
from closeout.cli.trouble import DONE, ExitCode
from closeout.cli.words import say_json, say_line


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Adds the ledger and the form."""
    add_ledger_argument(parser)
    parser.add_argument("--json", action="store_true", help="a JSON object a line")


def run(options: argparse.Namespace, surroundings: Surroundings) -> ExitCode:
    """A line for each, the oldest first, and how many there are."""
    from sqlalchemy import select  # noqa: PLC0415 - one of the depot's libraries

    from closeout.depot.tables import set_aside  # noqa: PLC0415 - as above

    ledger = find_ledger(options, surroundings)
    wanted = select(set_aside).order_by(set_aside.c.noticed_at, set_aside.c.digest)
    count = 0
    with ledger.reading() as connection:
        for row in connection.execute(wanted).mappings():
            count += 1
            if options.json:
                say_json(dict(row), surroundings)
            else:
                day = strftime("%Y-%m-%d", gmtime(row["noticed_at"]))
                say_line(
                    f"{day} {row['digest']} {row['name']}: {row['reason']}", surroundings.stdout
                )
    ledger.close()
    if not options.json:
        say_line(f"{count} set aside", surroundings.stdout)
    return DONE
