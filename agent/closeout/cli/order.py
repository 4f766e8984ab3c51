"""`closeout order`: what goes with work orders; the answer card to print."""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import Final

from closeout.cli.surroundings import Surroundings
from closeout.cli.trouble import DONE, ExitCode, InputTroubleError
from closeout.cli.words import say_line
from closeout.expect.repair_map import load_repair_map
from closeout.report.answer_card import render_card
from closeout.report.failure import StoreError
from closeout.report.store import write_file

CARD: Final = Path("answer-card.html")


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Adds the one action there is."""
    actions = parser.add_subparsers(dest="action", required=True, metavar="ACTION")
    card = actions.add_parser(
        "card", help="an A4 sheet with bar codes for yes, no, next, stop and the repairs"
    )
    card.add_argument("--out", metavar="FILE", type=Path, help=f"where to (else: ./{CARD})")


def run(options: argparse.Namespace, surroundings: Surroundings) -> ExitCode:
    """Writes the card to a new file."""
    file = surroundings.folder / (options.out or CARD)
    repairs = load_repair_map().repairs.values()
    page = render_card((repair.id, repair.title) for repair in repairs)
    try:
        write_file(file, page.encode())
    except StoreError as error:
        raise InputTroubleError(f"the card was not written: {error}") from error
    say_line(f"Answer card: {file}; print it on A4, at full size", surroundings.stdout)
    return DONE
