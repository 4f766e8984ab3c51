"""Who checks which unit on which order, as it is said by options, variables or scans."""

from __future__ import annotations

import argparse
import os
from pathlib import Path
from typing import TYPE_CHECKING, Final

from closeout.cli.surroundings import Surroundings
from closeout.cli.trouble import InputTroubleError
from closeout.expect.mistake import quote
from closeout.model.frozen import frozen, replace
from closeout.model.handling import Handling

if TYPE_CHECKING:
    from closeout.cli.terms import Demands
    from closeout.expect.work_order import WorkOrder

STATION: Final = "CLOSEOUT_STATION"
STICK: Final = "CLOSEOUT_STICK"
ORDERS: Final = "CLOSEOUT_ORDERS"
COPY: Final = "work-order.toml"
NOT_SCANNED: Final = ("work_order", "order", "again", "evidence", "root", "no_scan")
"""Options with which nothing is asked before the reading unless --scan asks for it."""


@frozen
class Heard:
    """What was said before the reading: `order` by its number, from a file or made of scans.

    `order_text` is the copy of one that was made of scans; `repairs` were scanned with it.
    """

    handling: Handling = Handling()
    order: str = ""
    file: Path | None = None
    scanned: WorkOrder | None = None
    order_text: bytes = b""
    repairs: tuple[str, ...] = ()

    def over(self, demands: Demands) -> Demands:
        """The demands with what was said. Raises InputTroubleError for a file of another order."""
        if self.file and demands.order_id != self.order:
            raise InputTroubleError(
                f"{self.file}: it is of order {quote(demands.order_id)}; give the file the name of"
                " its order"
            )
        told = replace(demands, handling=self.handling)
        if self.scanned is None:
            return told
        return replace(told, work_order=self.scanned, order_file={COPY: self.order_text})


NOTHING: Final = Heard()


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
