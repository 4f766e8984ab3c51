"""Numbers as kernel files write them: whole decimal numbers, and hexadecimal of a fixed width."""

from __future__ import annotations

import re
from typing import Final

from closeout.model.late_pattern import late_pattern

MOST_DIGITS: Final = 30
WHOLE: Final = late_pattern(rf"-?[0-9]{{1,{MOST_DIGITS}}}")


def parse_whole(text: str) -> int | None:
    """The whole number that the text is, in decimal; None where it is not one."""
    stripped = text.strip()
    return int(stripped) if WHOLE.fullmatch(stripped) else None


def parse_hexadecimal(text: str, digits: int) -> str | None:
    """Exactly so many hexadecimal digits in lower case, without `0x`; None where it is not so."""
    bare = text.strip().lower().removeprefix("0x")
    return bare if re.fullmatch(rf"[0-9a-f]{{{digits}}}", bare) else None


def parse_release(text: str) -> str | None:
    """A device release number (`bcdDevice`, four digits) as `1.10`; None where it is not one.

    Layout: USB 2.0, section 9.6.1; two binary-coded digits each side of the point.
    """
    bare = parse_hexadecimal(text, 4)
    if bare is None:
        return None
    return f"{bare[:2].lstrip('0') or '0'}.{bare[2:]}"
