"""The SMART attributes of an ATA drive and their thresholds.

Layout: SFF-8035i revision 2.0 and ATA-3, section 7.42, from memory; later standards call all but
a few bytes vendor specific, and drives keep to the old layout. What an attribute's number and its
raw value mean is common practice, in no standard.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final

from closeout.decode.drive_block import BLOCK, is_sum_good, number_at, require_block
from closeout.decode.failure import DecodeError
from closeout.model.frozen import frozen

DATA: Final = "SMART data"
THRESHOLDS: Final = "SMART thresholds"
FIRST_AT: Final = 2
ENTRY: Final = 12
ENTRIES: Final = 30
FAILURE_EXPECTED: Final = 1
NO_VALUE: Final = frozenset({0x00, 0xFE, 0xFF})
ALWAYS_PASSING: Final = 0x00
ALWAYS_FAILING: Final = 0xFF
NO_THRESHOLD: Final = 0xFE
PASSED: Final = bytes((0x4F, 0xC2))
FAILING: Final = bytes((0xF4, 0x2C))
"""LBA mid and LBA high after SMART RETURN STATUS (ACS-3, section 7.48.8)."""


@frozen
class SmartAttribute:
    """`value` and `worst` are None where the drive gives none; `raw` has 48 bits.

    `pre_failure`: at its threshold the drive expects to fail; else it is only old.
    """

    number: int
    value: int | None
    worst: int | None
    raw: int
    pre_failure: bool


@frozen
class AtaSmart:
    """The attributes by number, and what the drive says of its own tests."""

    revision: int
    attributes: Mapping[int, SmartAttribute]
    offline_status: int
    self_test_status: int


def decode_ata_smart(raw: bytes) -> AtaSmart:
    """The attributes.

    Raises:
        DecodeError: no 512 bytes, all of them 00h or FFh, or a wrong sum.
    """
    _require_sound(DATA, raw)
    entries = (_attribute(raw, at) for at in _entries_at())
    return AtaSmart(
        revision=number_at(raw, 0, 2),
        attributes={entry.number: entry for entry in entries if entry.number},
        offline_status=raw[362],
        self_test_status=raw[363],
    )


def decode_ata_thresholds(raw: bytes) -> Mapping[int, int]:
    """The threshold of each attribute by its number; FEh, which is none, is left out.

    Raises:
        DecodeError: as `decode_ata_smart`.
    """
    _require_sound(THRESHOLDS, raw)
    told = {raw[at]: raw[at + 1] for at in _entries_at()}
    return {number: least for number, least in told.items() if number and least != NO_THRESHOLD}


def decode_ata_status(raw: bytes) -> bool:
    """Whether the drive itself says that it is failing.

    Raises:
        DecodeError: two bytes that mean neither yes nor no.
    """
    if raw == FAILING:
        return True
    if raw == PASSED:
        return False
    raise DecodeError("SMART status", 0, "neither C24Fh, passed, nor 2CF4h, failing")


def is_at_threshold(attribute: SmartAttribute, threshold: int) -> bool:
    """The value has come down to its threshold; 00h never fails and FFh always does."""
    if threshold == ALWAYS_PASSING:
        return False
    if threshold == ALWAYS_FAILING:
        return True
    return attribute.value is not None and attribute.value <= threshold


def _require_sound(what: str, raw: bytes) -> None:
    require_block(what, raw)
    if not is_sum_good(raw):
        raise DecodeError(what, BLOCK - 1, "the sum of all bytes is not zero")


def _entries_at() -> range:
    return range(FIRST_AT, FIRST_AT + ENTRIES * ENTRY, ENTRY)


def _attribute(raw: bytes, at: int) -> SmartAttribute:
    return SmartAttribute(
        number=raw[at],
        pre_failure=bool(raw[at + 1] & FAILURE_EXPECTED),
        value=_value(raw[at + 3]),
        worst=_value(raw[at + 4]),
        raw=number_at(raw, at + 5, 6),
    )


def _value(told: int) -> int | None:
    return None if told in NO_VALUE else told
