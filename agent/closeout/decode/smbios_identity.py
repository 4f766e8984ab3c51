"""System, board and maker's strings of SMBIOS, types 1, 2 and 11, as records.

DMTF DSP0134 sections 7.2 (System), 7.3 (Baseboard) and 7.12 (OEM Strings); offsets are those of
the standard.
"""

from __future__ import annotations

from typing import Final

from closeout.decode import smbios_words as words
from closeout.decode.smbios_fields import (
    Field,
    Lack,
    Missing,
    bytes_at,
    change,
    labelled,
    number_at,
    numbered_text,
    text_at,
    word_at,
    words_for,
)
from closeout.decode.smbios_table import Structure
from closeout.model.frozen import field, frozen

UUID_SWAPPED_SINCE: Final = (2, 6)
"""From this version on the first three fields of the UUID are little-endian (7.2.1)."""


@frozen
class SystemRecord:
    """Type 1, System."""

    manufacturer: Field[str] = field(metadata=labelled("Manufacturer"))
    product: Field[str] = field(metadata=labelled("Product Name"))
    version: Field[str] = field(metadata=labelled("Version"))
    serial: Field[str] = field(metadata=labelled("Serial Number"))
    uuid: Field[str] = field(metadata=labelled("UUID"))
    wake_up: Field[str] = field(metadata=labelled("Wake-up Type"))
    sku: Field[str] = field(metadata=labelled("SKU Number"))
    family: Field[str] = field(metadata=labelled("Family"))


@frozen
class BoardRecord:
    """Type 2, Baseboard."""

    manufacturer: Field[str] = field(metadata=labelled("Manufacturer"))
    product: Field[str] = field(metadata=labelled("Product Name"))
    version: Field[str] = field(metadata=labelled("Version"))
    serial: Field[str] = field(metadata=labelled("Serial Number"))
    asset_tag: Field[str] = field(metadata=labelled("Asset Tag"))
    features: Field[tuple[str, ...]] = field(metadata=labelled("Features"))
    is_hosting: Field[bool] = field(metadata=labelled("Hosting Board"))
    location: Field[str] = field(metadata=labelled("Location In Chassis"))
    chassis_handle: Field[int] = field(metadata=labelled("Chassis Handle"))
    board_type: Field[str] = field(metadata=labelled("Type"))
    contained_handles: Field[tuple[int, ...]] = field(metadata=labelled("Contained Object Handles"))


@frozen
class OemStringsRecord:
    """Type 11, OEM Strings."""

    strings: Field[tuple[Field[str], ...]] = field(metadata=labelled("Strings"))


def decode_system(structure: Structure, version: tuple[int, int] | None) -> SystemRecord:
    """Type 1 (7.2). `version` of the table decides the byte order of the UUID.

    None means that the version is not known; the order in use since 2.6 is taken then.
    """
    return SystemRecord(
        manufacturer=text_at(structure, 0x04),
        product=text_at(structure, 0x05),
        version=text_at(structure, 0x06),
        serial=text_at(structure, 0x07),
        uuid=change(bytes_at(structure, 0x08, 16), lambda raw: decode_uuid(raw, version)),
        wake_up=word_at(structure, 0x18, words.WAKE_UP),
        sku=text_at(structure, 0x19),
        family=text_at(structure, 0x1A),
    )


def decode_uuid(raw: bytes, version: tuple[int, int] | None) -> Field[str]:
    """RFC 9562 text in lower case out of 16 bytes; all 00 and all FF are no UUID (7.2.1)."""
    if raw == bytes(16):
        return Missing(lack=Lack.NOT_SET, reason="all 00: no UUID is set")
    if raw == b"\xff" * 16:
        return Missing(lack=Lack.NOT_SET, reason="all FF: no UUID is set")
    if version is not None and version < UUID_SWAPPED_SINCE:
        return _uuid_text(raw)
    return _uuid_text(raw[3::-1] + raw[5:3:-1] + raw[7:5:-1] + raw[8:])


def _uuid_text(raw: bytes) -> str:
    digits = raw.hex()
    return "-".join((digits[:8], digits[8:12], digits[12:16], digits[16:20], digits[20:]))


def decode_board(structure: Structure) -> BoardRecord:
    """Type 2 (7.3)."""
    features = number_at(structure, 0x09)
    return BoardRecord(
        manufacturer=text_at(structure, 0x04),
        product=text_at(structure, 0x05),
        version=text_at(structure, 0x06),
        serial=text_at(structure, 0x07),
        asset_tag=text_at(structure, 0x08),
        features=change(features, lambda bits: words_for(bits, words.BOARD_FEATURES)),
        is_hosting=change(features, lambda bits: bool(bits & 1)),
        location=text_at(structure, 0x0A),
        chassis_handle=number_at(structure, 0x0B, 2),
        board_type=word_at(structure, 0x0D, words.BOARD_TYPE),
        contained_handles=change(
            number_at(structure, 0x0E), lambda count: _contained_handles(structure, count)
        ),
    )


def decode_oem_strings(structure: Structure) -> OemStringsRecord:
    """Type 11 (7.12): every string that its count announces."""
    return OemStringsRecord(
        strings=change(
            number_at(structure, 0x04),
            lambda count: tuple(numbered_text(structure, 1 + index) for index in range(count)),
        )
    )


def _contained_handles(structure: Structure, count: int) -> Field[tuple[int, ...]]:
    area = bytes_at(structure, 0x0F, 2 * count)
    return change(
        area,
        lambda raw: tuple(
            int.from_bytes(raw[at : at + 2], "little") for at in range(0, len(raw), 2)
        ),
    )
