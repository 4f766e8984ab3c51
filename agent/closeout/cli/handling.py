"""Who checks which unit on which order, as it is said by options, variables or scans."""

from __future__ import annotations

import argparse
import os
from pathlib import Path
from typing import Final

from closeout.cli.heard import NOTHING, ORDERS, STATION, STICK, Heard
from closeout.cli.surroundings import Surroundings

NOT_SCANNED: Final = ("work_order", "order", "again", "evidence", "root", "no_scan")
"""Options with which nothing is asked before the reading unless --scan asks for it."""


def add_handling_arguments(parser: argparse.ArgumentParser) -> None:
    """Adds order, label, operator, station, stick, and the scans in their place."""
    parser.add_argument(
        "--order", metavar="ID", help="the order by its number: ID.toml or ID.json, or none at all"
    )
    parser.add_argument(
        "--orders", metavar="DIR", type=Path, help=f"folder of orders (else: ./orders, ${ORDERS})"
    )
    parser.add_argument(
        "--label", metavar="TEXT", help="the serial off the unit's label, to hold against the order"
    )
    parser.add_argument("--operator", metavar="CODE", help="who checks")
    parser.add_argument("--station", metavar="CODE", help=f"where it is checked (else: ${STATION})")
    parser.add_argument("--stick", metavar="CODE", help=f"the stick in use (else: ${STICK})")
    scans = parser.add_mutually_exclusive_group()
    scans.add_argument(
        "--scan", action="store_true", help="ask for order, label and code also where not usual"
    )
    scans.add_argument("--no-scan", action="store_true", help="ask for none of them")


def hear(options: argparse.Namespace, surroundings: Surroundings) -> Heard:
    """What options, variables and a person at the terminal say. Raises InputTroubleError."""
    asks = is_asked(options, surroundings)
    if not asks and not _is_said(options):
        return NOTHING
    from closeout.cli.scan import hear_scans  # noqa: PLC0415 - not for a plain file of evidence

    return hear_scans(options, surroundings, asks=asks)


def is_asked(options: argparse.Namespace, surroundings: Surroundings) -> bool:
    """Whether a person sits there to scan, and nothing was said that makes it needless."""
    is_dialogue = surroundings.stdin.isatty() and surroundings.stdout.isatty()
    if not is_dialogue or options.json or options.quiet:
        return False
    return options.scan or not any(getattr(options, name) for name in NOT_SCANNED)


def _is_said(options: argparse.Namespace) -> bool:
    named = (options.order, options.label, options.operator, options.station, options.stick)
    return any((*named, options.scan, os.environ.get(STATION), os.environ.get(STICK)))
