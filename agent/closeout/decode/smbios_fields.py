"""Fields of an SMBIOS structure: a value, or the reason why there is none."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from enum import Enum
from typing import Final, TypeAlias, TypeVar

from closeout.decode.plain_text import decode_text
from closeout.decode.smbios_table import Structure
from closeout.model.frozen import frozen

T = TypeVar("T")
U = TypeVar("U")


class Lack(Enum):
    """Why a field has no value."""

    NO_STRING = "no string"
    BAD_INDEX = "bad string index"
    TOO_SHORT = "structure too short"
    UNKNOWN = "unknown"
    NOT_SET = "not set"
    NOT_THERE = "not there"
    """What the field describes does not exist: an empty socket, no error record."""
    UNDEFINED = "not defined"
    CUT = "table cut off"


@frozen
class Missing:
    """A named absence; `reason` is for people."""

    lack: Lack
    reason: str


Field: TypeAlias = T | Missing

UNKNOWN_WORD: Final = "Unknown"
LABEL_KEY: Final = "label"


def labelled(label: str) -> Mapping[str, str]:
    """Metadata for a field of a record: its name in the standard, with the unit in brackets."""
    return {LABEL_KEY: label}


def bytes_at(structure: Structure, offset: int, size: int) -> Field[bytes]:
    """`size` bytes of the formatted area."""
    end = offset + size
    if end > structure.length:
        return Missing(
            lack=Lack.TOO_SHORT,
            reason=f"structure of {structure.length} bytes is too short, the field ends at {end}",
        )
    if end > len(structure.formatted):
        return Missing(lack=Lack.CUT, reason="the table ends before this field")
    return structure.formatted[offset:end]


def number_at(structure: Structure, offset: int, size: int = 1) -> Field[int]:
    """An unsigned number of `size` bytes, little-endian (DSP0134 6.1.2)."""
    return change(bytes_at(structure, offset, size), _little_endian)


def text_at(structure: Structure, offset: int) -> Field[str]:
    """The string whose number stands at the offset, untrimmed (DSP0134 6.1.3)."""
    return change(number_at(structure, offset), lambda index: numbered_text(structure, index))


def numbered_text(structure: Structure, index: int) -> Field[str]:
    """The string with this number; zero means that none is given."""
    if index == 0:
        return Missing(lack=Lack.NO_STRING, reason="no string is given (index 0)")
    if index <= len(structure.strings):
        return decode_text(structure.strings[index - 1])
    if structure.is_cut:
        return Missing(lack=Lack.CUT, reason="the table ends before this string")
    return Missing(
        lack=Lack.BAD_INDEX,
        reason=f"string index {index} is out of range, there are {len(structure.strings)} strings",
    )


def change(field: Field[T], convert: Callable[[T], Field[U]]) -> Field[U]:
    """The field with its value converted; a missing one stays as it is."""
    if isinstance(field, Missing):
        return field
    return convert(field)


def unless(field: Field[T], *absences: tuple[T, Missing]) -> Field[T]:
    """The field, or the absence that its value stands for."""
    for sentinel, absence in absences:
        if field == sentinel:
            return absence
    return field


def unknown(sentinel: int, size: int) -> tuple[int, Missing]:
    """The sentinel that means unknown, as `unless` takes it; `size` in bytes."""
    shown = f"{sentinel:0{2 * size}X}h"
    return sentinel, Missing(lack=Lack.UNKNOWN, reason=f"{shown} means unknown")


def word_at(structure: Structure, offset: int, words: Mapping[int, str]) -> Field[str]:
    """The word for the number at the offset; the word Unknown becomes an absence."""
    return change(number_at(structure, offset), lambda number: word_for(number, words))


def word_for(number: int, words: Mapping[int, str]) -> Field[str]:
    """The word for a number of an enumeration."""
    word = words.get(number)
    if word is None:
        return Missing(lack=Lack.UNDEFINED, reason=f"{number:02X}h is not defined")
    if word == UNKNOWN_WORD:
        return Missing(lack=Lack.UNKNOWN, reason=f"{number:02X}h means unknown")
    return word


def words_for(bits: int, words: Mapping[int, str]) -> tuple[str, ...]:
    """The words for the bits that are set; bits without a word are reserved and left out."""
    return tuple(word for bit, word in words.items() if bits >> bit & 1)


def _little_endian(raw: bytes) -> int:
    return int.from_bytes(raw, "little")
