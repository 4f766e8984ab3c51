"""`closeout media card`: what to set in the firmware of a unit that does not boot the stick."""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import Final

from closeout.cli.surroundings import Surroundings
from closeout.cli.trouble import DONE, ExitCode, InputTroubleError
from closeout.cli.words import say_line
from closeout.media.boot_card import render_boot_card, render_boot_card_text
from closeout.report.failure import StoreError
from closeout.report.store import write_file

CARD: Final = Path("boot-card.html")


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Adds the form."""
    parser.add_argument("--out", metavar="FILE", type=Path, help=f"where to (else: ./{CARD})")
    parser.add_argument("--text", action="store_true", help="print it as text, and write no file")


def run(options: argparse.Namespace, surroundings: Surroundings) -> ExitCode:
    """Writes the card to a new file, or prints it."""
    if options.text:
        for line in render_boot_card_text().splitlines():
            say_line(line, surroundings.stdout)
        return DONE
    file = surroundings.folder / (options.out or CARD)
    try:
        write_file(file, render_boot_card().encode())
    except StoreError as error:
        raise InputTroubleError(f"the card was not written: {error}") from error
    say_line(f"Boot card: {file}; print it on A4, at full size", surroundings.stdout)
    return DONE
