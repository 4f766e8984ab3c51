"""SMBIOS entry point: where the table lies, how long it is and which version it follows.

Layouts: DMTF DSP0134 sections 5.2.1 (`_SM_`, 32 bit) and 5.2.2 (`_SM3_`, 64 bit).
"""

from __future__ import annotations

from typing import Final

from closeout.decode.failure import DecodeError
from closeout.model.frozen import frozen

WHAT: Final = "SMBIOS entry point"
ANCHOR_32: Final = b"_SM_"
ANCHOR_64: Final = b"_SM3_"
INTERMEDIATE_ANCHOR: Final = b"_DMI_"
SHORTEST_32: Final = 0x1E
"""Version 2.1 of the standard printed 1Eh where 1Fh was meant; kernel and dmidecode take both."""
SHORTEST_64: Final = 0x18
LONGEST: Final = 0x20
VERSION_SLIPS: Final = {(2, 0x1F): (2, 3), (2, 0x21): (2, 3), (2, 0x33): (2, 6)}
"""Versions that known firmware writes by mistake, as the kernel reads them (drivers/firmware/
dmi_scan.c, from memory)."""


@frozen
class EntryPoint:
    """A sound entry point; its checksums are right.

    `table_offset` is a physical address on a machine and a file offset in a dump.
    `table_length` is exact for `_SM_` and an upper bound for `_SM3_`. `revision` (of the
    specification text) is only in `_SM3_`, `structure_count` only in `_SM_`; None elsewhere.
    """

    anchor: str
    version: tuple[int, int]
    revision: int | None
    table_offset: int
    table_length: int
    structure_count: int | None

    @property
    def is_length_exact(self) -> bool:
        """The table is exactly as long as it says, not at most."""
        return self.anchor == ANCHOR_32.decode()


def decode_entry_point(raw: bytes) -> EntryPoint:
    """The entry point at the start of `raw`; DecodeError where anchor, length or sum is wrong."""
    if raw.startswith(ANCHOR_64):
        return _decode_64(raw)
    if raw.startswith(ANCHOR_32):
        return _decode_32(raw)
    raise DecodeError(WHAT, 0, f"no anchor _SM_ or _SM3_, found {raw[:5].hex(' ') or 'nothing'}")


def _decode_32(raw: bytes) -> EntryPoint:
    _demand_sound(raw, length_at=0x05, checksum_at=0x04, shortest=SHORTEST_32)
    if raw[0x10:0x15] != INTERMEDIATE_ANCHOR:
        raise DecodeError(WHAT, 0x10, "no intermediate anchor _DMI_")
    if sum(raw[0x10:0x1F]) % 256:
        raise DecodeError(WHAT, 0x15, "wrong intermediate checksum")
    version = (raw[0x06], raw[0x07])
    return EntryPoint(
        anchor=ANCHOR_32.decode(),
        version=VERSION_SLIPS.get(version, version),
        revision=None,
        table_offset=int.from_bytes(raw[0x18:0x1C], "little"),
        table_length=int.from_bytes(raw[0x16:0x18], "little"),
        structure_count=int.from_bytes(raw[0x1C:0x1E], "little"),
    )


def _decode_64(raw: bytes) -> EntryPoint:
    _demand_sound(raw, length_at=0x06, checksum_at=0x05, shortest=SHORTEST_64)
    return EntryPoint(
        anchor=ANCHOR_64.decode(),
        version=(raw[0x07], raw[0x08]),
        revision=raw[0x09],
        table_offset=int.from_bytes(raw[0x10:0x18], "little"),
        table_length=int.from_bytes(raw[0x0C:0x10], "little"),
        structure_count=None,
    )


def _demand_sound(raw: bytes, *, length_at: int, checksum_at: int, shortest: int) -> None:
    if len(raw) < shortest:
        raise DecodeError(WHAT, len(raw), f"needs at least {shortest} bytes, got {len(raw)}")
    length = raw[length_at]
    if not shortest <= length <= LONGEST:
        raise DecodeError(WHAT, length_at, f"length {length:02X}h is not possible")
    if len(raw) < length:
        raise DecodeError(WHAT, len(raw), f"says {length} bytes, got {len(raw)}")
    if sum(raw[:length]) % 256:
        raise DecodeError(WHAT, checksum_at, "wrong checksum")
