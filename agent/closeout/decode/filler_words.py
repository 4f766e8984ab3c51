"""Placeholder words and template names: texts that say nothing or only restate their field."""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache
from itertools import pairwise
from typing import Final

from closeout.decode.filler_text import SERIALS, FieldText, Kind
from closeout.decode.filler_vocabulary import (
    CARRIERS,
    COUNTED,
    NEGATED,
    NOTHING,
    PARTICULARS,
    PHRASES,
    THINGS,
    VOCABULARY,
)
from closeout.model.late_pattern import late_pattern

TO_BE_BY: Final = late_pattern(r"tobe[a-z]{2,12}by(?:the)?(?:oem|odm|manufacturer|vendor|user)")
BY_TYPE: Final = late_pattern(r"type\d{1,2}(?: ?- ?|_)?[a-z]{3}")
HEX_CODE: Final = late_pattern(r"(?:0x)?[0-9a-f]{1,8}")
PIECE: Final = late_pattern(r"[^\W\d_]+|\d+")
LONGEST_WORD: Final = max(map(len, VOCABULARY))
SHORTEST_CUT: Final = {"n": 6, "t": 6}
"""Letters a cut phrase must have by its first letter, where four would fit real words."""

NAMED_LAST: Final = {
    Kind.SKU: ("sku", "skunumber", "skuno", "chassis"),
    Kind.SERIAL: ("serialnumber", "serial", "serialno"),
    Kind.TAG: ("assettag", "asset", "tag"),
    Kind.MAKER: ("manufacturer", "manufacture"),
    Kind.PART: ("partnumber", "partnum", "partno"),
    Kind.VERSION: ("version", "versionnumber"),
}
"""How a field's own name ends a template name, by the kind of the field."""


def distance_at_most(first: str, second: str, limit: int) -> bool:
    """Whether two short texts differ by at most `limit` letters added, lost, changed or swapped.

    Optimal string alignment distance (Damerau 1964).
    """
    if limit == 0 or abs(len(first) - len(second)) > limit:
        return first == second
    letters, others = set(first), set(second)
    if max(len(letters - others), len(others - letters)) > limit:
        return False  # each letter that only one of them has costs a step
    earlier: list[int] = []
    before: list[int] = []
    row = list(range(len(second) + 1))
    for place, letter in enumerate(first, 1):
        earlier, before, row = before, row, [place]
        for other_place, other in enumerate(second, 1):
            change = before[other_place - 1] + (letter != other)
            cost = min(before[other_place] + 1, row[-1] + 1, change)
            swapped = first[place - 2 : place] == second[other_place - 2 : other_place][::-1]
            if min(place, other_place) > 1 and swapped:
                cost = min(cost, earlier[other_place - 2] + 1)
            row.append(cost)
    return row[-1] <= limit


def split_word(word: str) -> tuple[str, ...] | None:
    """The vocabulary words that a run of letters is made of; None when it is not.

    One letter may stand behind a longer word as its index: `dimmc` is `dimm` and `c`.
    """
    if len(word) == 1:
        return (word,)
    ways: list[tuple[str, ...] | None] = [()]
    for end in range(1, len(word) + 1):
        ways.append(_way_to(word, end, ways))
    whole, shorter = ways[-1], ways[-2]
    if whole is None and shorter and len(shorter[-1]) > 2:
        return (*shorter, word[-1])
    return whole


def _way_to(word: str, end: int, ways: Sequence[tuple[str, ...] | None]) -> tuple[str, ...] | None:
    for start in range(max(0, end - LONGEST_WORD), end):
        way = ways[start]
        if way is not None and word[start:end] in VOCABULARY:
            return (*way, word[start:end])
    return None


@lru_cache(maxsize=256)
def words_of(text: str) -> tuple[str, ...] | None:
    """The words and numbers of a text made of vocabulary words alone; None for any other."""
    joined = text.replace("o.e.m", "oem").replace("o e m", "oem")
    words: list[str] = []
    for piece in PIECE.findall(joined):
        split = (piece,) if piece.isdecimal() else split_word(piece)
        if split is None:
            return None
        words.extend(split)
    return tuple(words)


def has_long_number(words: Sequence[str]) -> bool:
    """A number of three digits or more, too large to count fields."""
    return any(word.isdecimal() and len(word) > 2 for word in words)


def is_to_be_filled(text: FieldText) -> bool:
    """`To be filled by O.E.M.` and its relatives."""
    words = words_of(text.trimmed) or ()
    return words[:2] == ("to", "be") or TO_BE_BY.search(text.letters) is not None


def is_placeholder_phrase(text: FieldText) -> bool:
    """A known phrase, also misspelt or with something added."""
    letters = text.letters
    if any(phrase in letters for phrase in CARRIERS):
        return True
    if any(letter.isdecimal() and letter != "0" for letter in text.squeezed):
        return False
    return any(distance_at_most(letters, phrase, len(phrase) // 6) for phrase in PHRASES)


def is_cut_phrase(text: FieldText) -> bool:
    """The beginning of a known phrase: `Unde`, `Not Spec`."""
    letters = text.letters
    if letters != text.squeezed or len(letters) < SHORTEST_CUT.get(letters[:1], 4):
        return False
    return any(phrase.startswith(letters) for phrase in PHRASES)


def is_short_mark(text: FieldText) -> bool:
    """`N/A`, `T.B.D.`, `S/N`."""
    return text.squeezed in {"na", "pn", "sn", "tba", "tbd"} or "tbd" in text.chunks


def says_nothing(text: FieldText) -> bool:
    """A word like `Unknown` or `None`, with nothing but field names and codes around it."""
    words: list[str] = []
    for chunk in text.chunks:
        if HEX_CODE.fullmatch(chunk):
            continue
        split = words_of(chunk)
        if split is None or has_long_number(split):
            return False
        words.extend(split)
    return any(word in NOTHING for word in words)


def says_not(text: FieldText) -> bool:
    """`NO DIMM`, `Module not installed`: a no before a thing, or a not before a state."""
    words = words_of(text.trimmed)
    if words is None or any(word.isdecimal() for word in words):
        return False
    if len(words) > 1 and words[0] == "no":
        return True
    return any(word == "not" and after in NEGATED for word, after in pairwise(words))


def is_spaces_described(text: FieldText) -> bool:
    """`48spaces`: a remark about spaces where spaces were meant."""
    return text.letters in {"space", "spaces"}


def is_oem(text: FieldText) -> bool:
    """`OEM`, alone or before the name of the thing."""
    words = words_of(text.trimmed)
    if not words or not {"oem", "odm"} & set(words):
        return False
    return all(word in THINGS for word in words)


def is_template_name(text: FieldText) -> bool:
    """The name of a field instead of its value: `System Product Name`, `Dimm1_PartNum`."""
    words = words_of(text.trimmed)
    if not words or has_long_number(words):
        return False
    particulars = [word for word in words if word in PARTICULARS]
    counts = any(word.isdecimal() for word in words)
    if not particulars or (counts and max(map(len, particulars)) < 3):
        return False
    last = words[-1]
    if words[0] == "type":
        return True
    if particulars[-1] in COUNTED and (last.isdecimal() or len(last) == 1):
        return particulars[-1] == "sku" and len(last) == 1
    return True


def is_numbered_by_type(text: FieldText) -> bool:
    """`Type1Family`, `Type3 - Asset`: named by the number of the SMBIOS structure."""
    return BY_TYPE.match(text.trimmed) is not None


def ends_with_field_name(text: FieldText) -> bool:
    """No digit, and the field's own name at the end: `Notebook-SKU`."""
    if text.letters != text.squeezed:
        return False
    if text.kind is Kind.MAKER and distance_at_most("".join(text.chunks[-1:]), "manufacturer", 2):
        return True
    return text.letters.endswith(NAMED_LAST.get(text.kind, ()))


def is_thing_as_serial(text: FieldText) -> bool:
    """`CHASSIS`, `DESKTOP`: a word for the thing where its serial belongs."""
    return text.kind in SERIALS and text.squeezed in THINGS
