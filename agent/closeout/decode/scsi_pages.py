"""Pages of vital product data that SCSI disks show as `vpd_pgXX` (T10 SPC-4, section 7.8)."""

from __future__ import annotations

from typing import Final

from closeout.decode.drive_block import BLOCK
from closeout.decode.failure import DecodeError
from closeout.model.frozen import frozen

HEADER: Final = 4
UNIT_SERIAL_PAGE: Final = 0x80
ATA_PAGE: Final = 0x89
IDENTIFY_AT: Final = 60
"""Where page 89h holds the answer to IDENTIFY DEVICE (T10 SAT-3; the kernel's libata-scsi.c)."""
SERIAL_WORDS: Final = (10, 20)
FIRMWARE_WORDS: Final = (23, 27)
MODEL_WORDS: Final = (27, 47)
"""Words of IDENTIFY DEVICE (T13 ACS-3, section 7.12.7), first and one behind the last."""


@frozen
class AtaIdentity:
    """Who an ATA drive says it is, without the padding and not cut to the widths of SCSI."""

    model: str
    serial: str
    firmware: str


def decode_unit_serial(raw: bytes) -> str:
    """The serial number of page 80h without its padding; empty where the page holds none."""
    return _text(_page_body(raw, UNIT_SERIAL_PAGE))


def decode_ata_information(raw: bytes) -> AtaIdentity:
    """Model, serial and firmware out of page 89h, whole; raises DecodeError for another page."""
    body = _page_body(raw, ATA_PAGE)
    identify = body[IDENTIFY_AT - HEADER :]
    needed = 2 * MODEL_WORDS[1]
    if len(identify) < needed:
        raise DecodeError(
            "VPD page 89h", len(raw), f"needs {needed} bytes of identity, got {len(identify)}"
        )
    return AtaIdentity(
        model=_ata_text(identify, MODEL_WORDS),
        serial=_ata_text(identify, SERIAL_WORDS),
        firmware=_ata_text(identify, FIRMWARE_WORDS),
    )


def identify_of_page(raw: bytes) -> bytes:
    """The whole answer to IDENTIFY DEVICE out of page 89h; raises DecodeError for another page."""
    identify = _page_body(raw, ATA_PAGE)[IDENTIFY_AT - HEADER :][:BLOCK]
    if len(identify) < BLOCK:
        raise DecodeError(
            "VPD page 89h", len(raw), f"needs {BLOCK} bytes of identity, got {len(identify)}"
        )
    return identify


def _page_body(raw: bytes, page: int) -> bytes:
    what = f"VPD page {page:02X}h"
    if len(raw) < HEADER:
        raise DecodeError(what, len(raw), f"needs {HEADER} bytes, got {len(raw)}")
    if raw[1] != page:
        raise DecodeError(what, 1, f"is page {raw[1]:02X}h")
    length = int.from_bytes(raw[2:HEADER], "big")
    if len(raw) < HEADER + length:
        raise DecodeError(what, 2, f"promises {length} bytes, {len(raw) - HEADER} are there")
    return raw[HEADER : HEADER + length]


def _ata_text(identify: bytes, words: tuple[int, int]) -> str:
    """Text of ATA words: the first character of each pair sits in the word's high byte."""
    pairs = identify[2 * words[0] : 2 * words[1]]
    swapped = bytearray(len(pairs))
    swapped[0::2], swapped[1::2] = pairs[1::2], pairs[0::2]
    return _text(bytes(swapped))


def _text(raw: bytes) -> str:
    return raw.decode("latin-1").strip(" \0")
