"""Code 128 bar codes (ISO/IEC 15417) as drawings in a page."""

from __future__ import annotations

from typing import Final

from closeout.model.handling import fits_bar_code
from closeout.report.html import NOTHING, Html, fill, joined

QUIET: Final = 10
"""Modules of empty space on either side, as the standard wants."""
MODULE_MICROMETRES: Final = 330
"""Width of the narrowest bar: hand scanners read it from an arm's length (common practice)."""
HEIGHT_MILLIMETRES: Final = 9


def modules_of(text: str) -> str:
    """The bars and gaps as a row of 1 and 0, one a module, without the quiet zones.

    Raises ValueError for a text that no bar code holds.
    """
    if not fits_bar_code(text):
        raise ValueError(f"{text!r}: no text that a bar code holds")
    from barcode.codex import (  # type: ignore[import-untyped]  # noqa: PLC0415 - few pages have it
        Code128,
    )

    (row,) = Code128(text).build()
    return str(row)


def bars_of(row: str) -> tuple[tuple[int, int], ...]:
    """Place and width in modules of every bar; places count from the first bar."""
    bars: list[tuple[int, int]] = []
    for place, module in enumerate(row):
        if module == "0":
            continue
        last, width = bars[-1] if bars else (-1, 0)
        if bars and last + width == place:
            bars[-1] = (last, width + 1)
        else:
            bars.append((place, 1))
    return tuple(bars)


def draw_code_128(text: str) -> Html:
    """The bar code with its quiet zones, black on white on any screen; nothing for other texts."""
    if not fits_bar_code(text):
        return NOTHING
    row = modules_of(text)
    modules = len(row) + 2 * QUIET
    rects = joined(
        fill('<rect x="{}" width="{}" height="1"/>', QUIET + place, width)
        for place, width in bars_of(row)
    )
    return fill(
        '<svg class="bars" role="img" aria-label="bar code of {}" viewBox="0 0 {} 1"'
        ' preserveAspectRatio="none" width="{}mm" height="{}mm">{}{}</svg>',
        text,
        modules,
        _millimetres(modules * MODULE_MICROMETRES),
        HEIGHT_MILLIMETRES,
        fill('<rect width="{}" height="1" fill="#fff"/>', modules),
        rects,
    )


def _millimetres(micrometres: int) -> str:
    whole, rest = divmod(micrometres, 1000)
    return f"{whole}.{rest:03d}"
