"""`closeout depot backup`: a whole copy of the ledger, while others use it.

The copy is one file and a ledger itself, whether it was made of a file or of a server.
"""

from __future__ import annotations

import argparse
from pathlib import Path

from closeout.cli.ledger_option import add_ledger_argument, find_ledger
from closeout.cli.surroundings import Surroundings
from closeout.cli.trouble import DONE, ExitCode
from closeout.cli.words import say_line


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Adds file and ledger."""
    parser.add_argument("file", metavar="FILE", type=Path, help="where to; nothing is overwritten")
    add_ledger_argument(parser)


def run(options: argparse.Namespace, surroundings: Surroundings) -> ExitCode:
    """Makes it, whole or not at all, and says what is in it."""
    from closeout.depot.backup import make_backup  # noqa: PLC0415 - the depot's libraries

    file = surroundings.folder / options.file
    ledger = find_ledger(options, surroundings)
    try:
        counts = make_backup(ledger, file)
    finally:
        ledger.close()
    told = f"{counts['report']} reports, {counts['content']} files"
    say_line(f"Backup: {file}: {told}.", surroundings.stdout)
    return DONE
