"""What the QR code of a report says, and its modules."""

from __future__ import annotations

import hashlib
from typing import Final

from closeout.model.report import Report
from closeout.model.unrun import Unrun
from closeout.report.foreign import make_safe

QUIET: Final = 4
"""Modules of empty space on every side, as ISO/IEC 18004 wants."""
CORRECTION: Final = "m"
"""15 % of it may be dirty or scratched."""
LONGEST_ORDER: Final = 64


def tell_identity(report: Report, raw: bytes) -> str:
    """The text of the code: which report it is, and the digest of its file, a thing to a line."""
    facts = report.circumstances
    attempt = "draft" if facts.is_draft else str(facts.attempt)
    lines = (
        "closeout report",
        f"order {make_safe(facts.order, LONGEST_ORDER) or 'none'}",
        f"attempt {attempt}",
        f"revision {report.revision}",
        f"sha256 {digest_of(raw)}",
    )
    return "\n".join(lines)


def tell_unrun(unrun: Unrun, raw: bytes) -> str:
    """The same for the record of a unit that was not judged."""
    lines = (
        "closeout unrun",
        f"order {make_safe(unrun.order, LONGEST_ORDER)}",
        f"number {unrun.number}",
        f"sha256 {digest_of(raw)}",
    )
    return "\n".join(lines)


def digest_of(raw: bytes) -> str:
    """SHA-256 of a file's bytes, in hex."""
    return hashlib.sha256(raw).hexdigest()


def qr_rows(text: str) -> tuple[str, ...]:
    """Each row of modules as 1 and 0, without the quiet zone."""
    import segno  # noqa: PLC0415 - only for paper

    code = segno.make_qr(text, error=CORRECTION, encoding="utf-8")
    return tuple("".join("1" if module else "0" for module in row) for row in code.matrix)


def draw_qr(rows: tuple[str, ...]) -> str:
    """The code with its quiet zone as SVG, one module a unit."""
    side = len(rows) + 2 * QUIET
    drawn = "".join(
        f"M{QUIET + x} {QUIET + y}h1v1h-1z"
        for y, row in enumerate(rows)
        for x, module in enumerate(row)
        if module == "1"
    )
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {side} {side}">'
        f'<rect width="{side}" height="{side}" fill="#fff"/><path d="{drawn}"/></svg>'
    )
