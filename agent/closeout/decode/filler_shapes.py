"""Filler by its shape: repeats, runs, masks, macros, zero dates, punctuation."""

from __future__ import annotations

from typing import Final

from closeout.decode.filler_text import VERSIONS, FieldText, Kind
from closeout.model.late_pattern import late_pattern

ZERO_IS_NOTHING: Final = frozenset({Kind.MAKER, Kind.PACK_SERIAL, Kind.TAG})
COUNTING: Final = (
    "0123456789" * 4,
    "0" + "123456789" * 4,
    "123456789" * 4,
    "0123456789abcdefghijklmnopqrstuvwxyz",
    "0123456789abcdef" * 4,
    "1234567890abcdefghijklmnopqrstuvwxyz",
    "abcdefghijklmnopqrstuvwxyz" * 2,
    "9876543210" * 4,
    "fedcba9876543210",
    "zyxwvutsrqponmlkjihgfedcba",
)
MASK: Final = late_pattern(r"x{4}")
VERSION_TEMPLATE: Final = late_pattern(
    r"(?:v|ver|version|r|rev|revision)?[ ._:-]{0,3}\d{0,3}x{0,4}(?:\.\d{0,3}x{0,4}){1,4}\W*"
)
MACRO: Final = late_pattern(
    r"^%\d{0,2}[sdux]$|\$[({]|%[a-z_]{2,40}%|@[a-z_]{2,40}@|\{\{|<[^<>]{1,60}>$"
)
DATE_PARTS: Final = late_pattern(r"(\d{1,4})[/.-](\d{1,4})[/.-](\d{1,4})\W*")
EPOCHS: Final = frozenset({(1900, 1, 1), (1970, 1, 1), (1980, 1, 1)})
PREFIXED_RUN: Final = late_pattern(r"[a-z]{1,16}?(\d{6,40})")


def is_punctuation(text: FieldText) -> bool:
    """No letter and no digit, or one lost among dots."""
    marks = sum(1 for letter in text.trimmed if not letter.isalnum() and not letter.isspace())
    return not text.core or (len(text.core) == 1 and marks >= 4)


def is_macro(text: FieldText) -> bool:
    """`$(NAME)`: a variable that the build never replaced."""
    return MACRO.search(text.trimmed) is not None


def is_repeat(text: FieldText) -> bool:
    """One character over and over; how often is needed depends on field and character."""
    return len(set(text.core)) == 1 and len(text.core) >= _shortest_repeat(text)


def _shortest_repeat(text: FieldText) -> int:
    character = text.core[:1]
    if text.kind is Kind.SERIAL or (character == "0" and text.kind in ZERO_IS_NOTHING):
        return 1
    if character in "0fx":
        return 3
    return 6 if text.kind is Kind.FIRMWARE else 4


def is_pattern(text: FieldText) -> bool:
    """Two to four characters over and over: `5656565656`."""
    core = text.core
    return len(core) >= 8 and any(
        len(core) >= 3 * period and core[period:] == core[:-period] for period in (2, 3, 4)
    )


def is_run(text: FieldText) -> bool:
    """Counting characters alone: `0123456789`, `ABCD`, `12-34`."""
    core = text.core
    shortest = 6
    if core[:1] in {"0", "1", "a"} and text.kind is not Kind.PACK_SERIAL:
        shortest = 5 if text.kind in VERSIONS else 4
    return len(core) >= shortest and any(core in counting for counting in COUNTING)


def is_run_behind_letters(text: FieldText) -> bool:
    """Letters, or one digit, and then counting digits to the end: `BSS-0123456789`."""
    match = PREFIXED_RUN.fullmatch(text.core)
    digits = match.group(1) if match else text.core[1:] if len(text.core) > 12 else ""
    starts = digits.startswith(("0123", "1234"))
    return starts and any(digits in counting for counting in COUNTING)


def is_mask(text: FieldText) -> bool:
    """Places held by X: `ABCDXXXX`, `xxx123x`."""
    core = text.core
    rest = core.replace("x", "")
    held = len(core) - len(rest)
    return MASK.search(core) is not None or (held >= 3 and rest in {"123", "1234", "12345"})


def is_version_template(text: FieldText) -> bool:
    """`x.x`, `Rev 1.xx`: a version with its digits left open."""
    return "x" in text.trimmed and VERSION_TEMPLATE.fullmatch(text.trimmed) is not None


def is_zero_date(text: FieldText) -> bool:
    """A date with month or day zero, or the first day of a calendar."""
    match = DATE_PARTS.fullmatch(text.trimmed)
    if match is None:
        return False
    numbers = [int(part) for part in match.groups()]
    return 0 in numbers or tuple(sorted(numbers, reverse=True)) in EPOCHS


def is_short_serial(text: FieldText) -> bool:
    """Too short to tell one unit from another."""
    length = len(text.squeezed)
    return text.kind is Kind.SERIAL and (length < 4 or (length == 4 and text.squeezed.isdecimal()))
