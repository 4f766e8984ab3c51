"""An order of which there is no file: made of the scans alone."""

from __future__ import annotations

import json
import re
from typing import Final

from closeout.expect.mistake import Mistakes
from closeout.expect.order_file import parse_work_order
from closeout.expect.vocabulary import ORDER_PATTERN, WORK_ORDER_FORMAT
from closeout.expect.work_order import WorkOrder
from closeout.model.frozen import replace

SCANNED: Final = "scanned"
"""The revision of such an order, where a file has its format."""

SCANNED_LABEL: Final = "scanned label"
ORDER_FORM: Final = re.compile(ORDER_PATTERN)


def is_order_id(text: str) -> bool:
    """Whether an order can be called so."""
    return ORDER_FORM.fullmatch(text) is not None


def order_text(order: str, serial: str) -> bytes:
    """The canonical text: a work order file that says as much; an empty serial is left out."""
    lines = [f"work_order = {WORK_ORDER_FORMAT}", f"order = {_quoted(order)}"]
    if serial:
        lines += ["", "[unit]", f"serial = {_quoted(serial)}"]
    return "".join(f"{line}\n" for line in lines).encode()


def make_scanned_order(order: str, serial: str) -> WorkOrder | Mistakes:
    """The order made of its number and the label's serial, which is a must where there is one.

    Its digest is that of `order_text`. Mistakes where it cannot be called so.
    """
    raw = order_text(order, serial)
    parsed = parse_work_order(SCANNED_LABEL, raw)
    return parsed if isinstance(parsed, Mistakes) else mark_scanned(parsed)


def mark_scanned(order: WorkOrder) -> WorkOrder:
    """The same order, as one that was made of scans."""
    demands = tuple(replace(demand, origin=SCANNED_LABEL) for demand in order.expectations)
    return replace(order, expectations=demands, revision=SCANNED)


def _quoted(text: str) -> str:
    """A text in TOML; JSON's spelling is TOML's too for what is printable."""
    return json.dumps(text, ensure_ascii=False)
