"""The licence key table, ACPI MSDM ("Software Licensing Tables", Microsoft; title from memory).

After the ACPI header: u32 version, u32 reserved, u32 data type, u32 data reserved, u32 data
length at 36, 40, 44, 48 and 52, then the key: five groups of five characters with dashes.
The layout agrees with public table dumps. The key never appears in an error or a repr.
"""

from __future__ import annotations

import struct
from enum import Enum
from itertools import pairwise
from typing import Final

from closeout.decode.acpi_table import AcpiHeader, decode_acpi_header
from closeout.decode.failure import DecodeError
from closeout.model.frozen import field, frozen

WHAT: Final = "MSDM table"
SIGNATURE: Final = "MSDM"
FIELDS: Final = struct.Struct("<5I")
FIELDS_AT: Final = 36
KEY_AT: Final = 56
KEY_LENGTH: Final = 29
LAST_SHOWN: Final = 5
ALPHABET: Final = frozenset(b"BCDFGHJKMPQRTVWXY2346789N")
"""Letters of a key: no vowels and nothing that looks like another; N since keys of 2012.
From memory; the 24 others are what the open data's invented keys are drawn from."""


class KeyFormat(Enum):
    """What form the key's bytes have."""

    WELL_FORMED = "well-formed"
    LETTERS = "letters outside the alphabet"
    REPEATED = "one character repeated"
    GROUPS = "not five groups of five"
    NOTHING = "no room for a key"
    ALL_00 = "blank: all 00"
    ALL_FF = "blank: all FF"
    SPACES = "blank: spaces"
    FF_THEN_ZERO = "FF then zero"


KEY_CLASSES: Final = {
    KeyFormat.WELL_FORMED: "well-formed key (masked)",
    KeyFormat.LETTERS: "5x5 but letters outside the alphabet (masked)",
}
"""How `describe_msdm` words a format whose key it hides."""


@frozen
class MsdmTable:
    """The table as read."""

    header: AcpiHeader
    version: int
    reserved: int
    data_type: int
    data_reserved: int
    data_length: int
    key_format: KeyFormat
    key: bytes = field(repr=False)

    @property
    def layout_faults(self) -> tuple[str, ...]:
        """What is wrong with lengths, version and type, empty where nothing is.

        In words of ours alone: the numbers may be pieces of a key that slipped.
        """
        whole = KEY_AT + KEY_LENGTH
        checks = (
            (self.version == 1, "the version is not 1"),
            (self.data_type == 1, "the data type is not 1"),
            (self.data_length == KEY_LENGTH, f"the data length is not {KEY_LENGTH}"),
            (self.header.length == whole, f"the table's length is not {whole}"),
            (
                self.header.length == self.header.given,
                "more or fewer bytes than the table's length",
            ),
        )
        return tuple(fault for good, fault in checks if not good)


def decode_msdm(raw: bytes) -> MsdmTable:
    """The table; wrong sums, lengths and types are facts in it.

    Raises:
        DecodeError: no ACPI header, another table's signature, or too short for the fields
            before the key.
    """
    header = decode_acpi_header(raw)
    if header.signature != SIGNATURE:
        raise DecodeError(WHAT, 0, "another table's signature")
    end = min(header.length, len(raw))
    if end < KEY_AT:
        raise DecodeError(WHAT, end, f"the fields before the key take {KEY_AT} bytes")
    version, reserved, data_type, data_reserved, data_length = FIELDS.unpack_from(raw, FIELDS_AT)
    key = raw[KEY_AT : min(end, KEY_AT + data_length)]
    return MsdmTable(
        header=header,
        version=version,
        reserved=reserved,
        data_type=data_type,
        data_reserved=data_reserved,
        data_length=data_length,
        key_format=classify_key(key),
        key=key,
    )


def classify_key(key: bytes) -> KeyFormat:
    """What form the bytes of a key have."""
    if not key:
        return KeyFormat.NOTHING
    for format_, letter in _BLANKS.items():
        if key == letter * len(key):
            return format_
    if key.startswith(b"\xff") and not key.lstrip(b"\xff").strip(b"\0"):
        return KeyFormat.FF_THEN_ZERO
    groups = key.split(b"-")
    if [len(group) for group in groups] != [5] * 5 or not b"".join(groups).isalnum():
        return KeyFormat.GROUPS
    return _classify_letters(b"".join(groups))


_BLANKS: Final = {KeyFormat.ALL_00: b"\0", KeyFormat.ALL_FF: b"\xff", KeyFormat.SPACES: b" "}


def _classify_letters(letters: bytes) -> KeyFormat:
    if all(first == second for first, second in pairwise(letters)):
        return KeyFormat.REPEATED
    return KeyFormat.WELL_FORMED if ALPHABET.issuperset(letters) else KeyFormat.LETTERS


def describe_msdm(raw: bytes) -> dict[str, object]:
    """The table ready for JSON, without the key: at most its last five characters.

    `key_class` is the key's format in the words of the open data's index. A number that is four
    printable characters is withheld, for it may be a piece of a key that slipped.

    Raises:
        DecodeError: as `decode_msdm`.
    """
    table = decode_msdm(raw)
    header = table.header
    description: dict[str, object] = {
        "signature": header.signature,
        "length": header.length,
        "bytes": header.given,
        "revision": header.revision,
        "checksum_ok": header.checksum_good,
        "oem_id": header.oem_id,
        "oem_table_id": header.oem_table_id,
        "oem_revision": header.oem_revision,
        "creator_id": header.creator_id,
        "creator_revision": header.creator_revision,
        "msdm_version": _shown(table.version),
        "data_type": _shown(table.data_type),
        "data_length": _shown(table.data_length),
        "layout_faults": list(table.layout_faults),
        "key_class": KEY_CLASSES.get(table.key_format, table.key_format.value),
    }
    if table.key_format is KeyFormat.WELL_FORMED:
        description["key_last_five"] = table.key[-LAST_SHOWN:].decode("ascii")
    return description


def _shown(number: int) -> int | str:
    if all(0x20 <= byte <= 0x7E for byte in number.to_bytes(4, "little")):
        return "withheld: printable characters"
    return number
