"""`closeout depot export`: the index as tables that other programs read.

Reports, findings, steps, parts and identities as Parquet, a file a month each, in one state of the
ledger. Serials and addresses stand in them as they are unless `--tokens` hides them.
"""

from __future__ import annotations

import argparse
from pathlib import Path

from closeout.cli.ledger_option import add_ledger_argument, find_ledger
from closeout.cli.source import read_secret
from closeout.cli.surroundings import Surroundings
from closeout.cli.trouble import DONE, ExitCode
from closeout.cli.words import say_line

AS_THEY_ARE = "Serials and addresses are in it as they are; --tokens FILE hides them."


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Adds folder, ledger and form."""
    parser.add_argument(
        "folder", metavar="DIR", type=Path, help="a new folder, or an export to be replaced"
    )
    add_ledger_argument(parser)
    parser.add_argument("--csv", action="store_true", help="CSV in place of Parquet")
    parser.add_argument(
        "--tokens",
        metavar="FILE",
        type=Path,
        help="file with a secret: tokens in place of serials, addresses and order numbers",
    )


def run(options: argparse.Namespace, surroundings: Surroundings) -> ExitCode:
    """Writes it, whole or not at all."""
    from closeout.depot.export import Form, export  # noqa: PLC0415 - the depot's libraries
    from closeout.depot.tokens import Tokens  # noqa: PLC0415 - as above

    secret = read_secret(options.tokens)
    form = Form(as_csv=options.csv, tokens=Tokens(secret) if secret else None)
    folder = surroundings.folder / options.folder
    ledger = find_ledger(options, surroundings)

    def tell(month: str) -> None:
        if surroundings.stderr.isatty():
            surroundings.stderr.write(f"\r{month} ")
            surroundings.stderr.flush()

    try:
        counts = export(ledger, folder, form, tell)
    finally:
        ledger.close()
    told = ", ".join(f"{count} in {name}" for name, count in counts.items())
    say_line(f"Export: {folder}: {told}.", surroundings.stdout)
    if form.tokens is None:
        say_line(AS_THEY_ARE, surroundings.stdout)
    return DONE
