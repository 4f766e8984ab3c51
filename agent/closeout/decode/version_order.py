"""Which of two firmware versions of one product is the older one, by their text alone.

Digit runs count as numbers, as in Debian's rule (Policy 5.6.12). Pieces of the same length that
mix digits and letters compare as text, because makers count on in letters: F.19, F.1A. Where the
texts belong to different lines or schemes there is no order to tell, and the answer is unknown.
"""

from __future__ import annotations

from enum import Enum
from itertools import zip_longest
from typing import Final

from closeout.model.frozen import frozen
from closeout.model.late_pattern import late_pattern


class Order(Enum):
    """How the first version stands to the second."""

    LESS = "less"
    EQUAL = "equal"
    GREATER = "greater"
    UNKNOWN = "unknown"


@frozen
class Comparison:
    """The order, and in words what decided it."""

    order: Order
    reason: str


LONGEST: Final = 256
"""Longer texts are no version; SMBIOS strings seldom have more than 64 characters."""

MARK: Final = late_pattern(r"^(?:version|ver|v|rev)[. ]{0,2}(?=\d)")
BEHIND_MARK: Final = late_pattern(r"^([^ ]+) ver\.? ?(?=\w)(.+)$")
CODED: Final = late_pattern(
    r"^(?:([0-9a-z]{2}[a-z]{2})[0-9a-z]{2}ww|([0-9a-z]{3}[a-z]{2})[0-9a-z]{2}w)\b"
)
"""A platform code, two characters that count, and one or two W (seen in linuxhw's collection)."""

YEAR_FIRST: Final = late_pattern(
    r"(?<!\d)(20\d\d)[. _-]?(0[1-9]|1[0-2])[. _-]?(0[1-9]|[12]\d|3[01])(?!\d)"
)
YEAR_LAST: Final = late_pattern(r"(?<!\d)(0[1-9]|1[0-2])/(0[1-9]|[12]\d|3[01])/(20\d\d)(?!\d)")
PREFIX: Final = late_pattern(r"\D*")
PIECE: Final = late_pattern(r"[^\W_]+")
RUN: Final = late_pattern(r"\d+|[^\W\d_]+")
DOTTED: Final = late_pattern(r"\d+(?:\.\d+)*")
EARLIER_SCHEME: Final = late_pattern(r"[a-z]\d\d|[a-z]{2,3}\d{2,3}\.\d\dz\.[0-9a-z.]+")
"""Revisions by a letter and two digits (A08), and by platform, build and date: makers who left
such a scheme went on with dotted numbers, never the other way (common practice; so does every
pair of the open data)."""
RENUMBERED: Final = range(3, 9)
"""Jumps of a first number after which two in five of the open data's dated pairs run backwards:
the count began again for another line, and the texts alone do not tell."""
NUMBERS: Final = late_pattern(r"(\d+)(?:\.\d+)+\D*")
PLAIN: Final = late_pattern(r"\d+(?:\.\d+)*(?:[-+].*)?")


def compare_versions(older: str, newer: str) -> Comparison:
    """How the version supposed to be older stands to the one supposed to be newer.

    Case and blanks around the text do not matter. Swapped arguments give the mirrored answer.
    """
    first, second = _folded(older), _folded(newer)
    if first == second:
        return Comparison(order=Order.EQUAL, reason="the same text")
    if max(len(first), len(second)) > LONGEST:
        return _unknown("too long for a version")
    if "~" in first + second:
        return _unknown("a ~ has no agreed meaning in firmware versions")
    if _prefix(first) != _prefix(second):
        return _compare_lines(first, second)
    built, other_built = _build_date(first), _build_date(second)
    if built and other_built and built != other_built:
        return _sorted(built < other_built, f"built {built} and {other_built}")
    return _compare_named(first, second)


def _compare_lines(first: str, second: str) -> Comparison:
    """Versions with different letters in front have no order, but for one change of scheme."""
    for old, new, is_less in ((first, second, True), (second, first, False)):
        if EARLIER_SCHEME.fullmatch(old) and NUMBERS.fullmatch(new):
            return _sorted(is_less, f"{new} is of the dotted scheme that followed {old}")
    return _unknown("the letters in front differ: another line of firmware")


def _compare_named(first: str, second: str) -> Comparison:
    """Compares what stands behind the platform's name, where the texts begin with one."""
    named, other_named = BEHIND_MARK.match(first), BEHIND_MARK.match(second)
    if named and other_named:
        result = _compare_schemes(named.group(2), other_named.group(2))
        if result.order is Order.EQUAL and named.group(1) != other_named.group(1):
            return _unknown("the same version for different platforms")
        return result
    coded, other_coded = CODED.match(first), CODED.match(second)
    if coded and other_coded and coded.groups() != other_coded.groups():
        return _unknown("the platform codes differ: another line of firmware")
    return _compare_schemes(first, second)


def _compare_schemes(first: str, second: str) -> Comparison:
    """Compares piece by piece, if both texts count in the same number of parts."""
    body, other_body = first[len(_prefix(first)) :], second[len(_prefix(second)) :]
    parts, other_parts = DOTTED.match(body), DOTTED.match(other_body)
    if parts and other_parts and not (_build_date(first) or _build_date(second)):
        differ = parts.group().count(".") != other_parts.group().count(".")
        if differ and not (PLAIN.fullmatch(body) and PLAIN.fullmatch(other_body)):
            return _unknown("the numbers in front have different counts: another scheme")
    if _is_renumbered(body, other_body):
        return _unknown("the first numbers are far apart: the count may have begun again")
    for piece, other in zip_longest(PIECE.findall(first), PIECE.findall(second)):
        result = _compare_pieces(piece, other)
        if result.order is not Order.EQUAL:
            return result
    return Comparison(order=Order.EQUAL, reason="the same numbers and words")


def _compare_pieces(piece: str | None, other: str | None) -> Comparison:
    """Compares two pieces of letters and digits; a missing one is older than any."""
    if piece is None or other is None:
        return _sorted(piece is None, f"{piece or other} is added")
    reason = f"{piece} and {other}"
    if piece == other:
        return Comparison(order=Order.EQUAL, reason=reason)
    if piece.isdecimal() and other.isdecimal():
        return _compare_numbers(piece, other)
    if len(piece) > 1 and piece.isalpha() and other.isalpha():
        return _unknown(f"the words {reason} have no order")
    if len(piece) == len(other):
        return _sorted(piece < other, f"{reason} as text")
    return _compare_runs(piece, other)


def _compare_numbers(piece: str, other: str) -> Comparison:
    reason = f"{piece} and {other} as numbers"
    if int(piece) == int(other):
        return Comparison(order=Order.EQUAL, reason=reason)
    return _sorted(int(piece) < int(other), reason)


def _compare_runs(piece: str, other: str) -> Comparison:
    """Compares pieces of different length by their first different number."""
    for run, other_run in zip(RUN.findall(piece), RUN.findall(other), strict=False):
        if run == other_run:
            continue
        if not (run.isdecimal() and other_run.isdecimal()):
            break
        result = _compare_numbers(run, other_run)
        if result.order is not Order.EQUAL:
            return result
    return _unknown(f"{piece} and {other} differ in letters: a variant, not a later version")


def _is_renumbered(body: str, other_body: str) -> bool:
    numbers, other_numbers = NUMBERS.fullmatch(body), NUMBERS.fullmatch(other_body)
    if not (numbers and other_numbers):
        return False
    return abs(int(numbers.group(1)) - int(other_numbers.group(1))) in RENUMBERED


def _folded(text: str) -> str:
    """The text without case, without `V` in front, and with single blanks."""
    return MARK.sub("", " ".join(text.replace("\0", " ").casefold().split()))


def _prefix(text: str) -> str:
    """What stands before the first digit."""
    match = PREFIX.match(text)
    return match.group() if match else ""


def _build_date(text: str) -> str:
    """The date in a text as YYYYMMDD; empty unless there is exactly one."""
    dates = ["".join(match) for match in YEAR_FIRST.findall(text)]
    dates += [year + month + day for month, day, year in YEAR_LAST.findall(text)]
    return dates[0] if len(dates) == 1 else ""


def _sorted(is_less: bool, reason: str) -> Comparison:  # noqa: FBT001 - the outcome itself
    return Comparison(order=Order.LESS if is_less else Order.GREATER, reason=reason)


def _unknown(reason: str) -> Comparison:
    return Comparison(order=Order.UNKNOWN, reason=reason)
