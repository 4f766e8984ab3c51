"""`closeout depot restore`: an empty ledger filled from a backup, whole or not at all.

Every byte of the backup is looked at; it fits a file and a server alike.
"""

from __future__ import annotations

import argparse
from pathlib import Path

from closeout.cli.ledger_option import add_ledger_argument, find_address
from closeout.cli.surroundings import Surroundings
from closeout.cli.trouble import DONE, ExitCode
from closeout.cli.words import say_line


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Adds file and ledger."""
    parser.add_argument("file", metavar="FILE", type=Path, help="made by `depot backup`")
    add_ledger_argument(parser)


def run(options: argparse.Namespace, surroundings: Surroundings) -> ExitCode:
    """Fills the ledger, which is made where there is none."""
    from closeout.depot.address import show_address  # noqa: PLC0415 - the depot's libraries
    from closeout.depot.backup import restore  # noqa: PLC0415 - as above

    url = find_address(options, surroundings)
    counts = restore(surroundings.folder / options.file, url)
    told = f"{counts['report']} reports, {counts['content']} files"
    say_line(
        f"Restored: {show_address(url)}: {told}, every byte as it was kept.", surroundings.stdout
    )
    return DONE
