"""Blocks that drives answer with, ready for JSON, for `closeout decode`."""

from __future__ import annotations

from dataclasses import asdict

from closeout.decode.ata_identify import decode_ata_identify
from closeout.decode.ata_smart import (
    SmartAttribute,
    decode_ata_smart,
    decode_ata_thresholds,
    is_at_threshold,
)
from closeout.decode.drive_block import BLOCK
from closeout.decode.failure import DecodeError
from closeout.decode.nvme_smart import decode_nvme_smart


def describe_nvme_smart(raw: bytes) -> dict[str, object]:
    """Every field of an NVMe health log; null is "not reported".

    Raises:
        DecodeError: as `decode_nvme_smart`.
    """
    return asdict(decode_nvme_smart(raw))


def describe_ata_identify(raw: bytes) -> dict[str, object]:
    """What an ATA drive says of itself; null is "not reported".

    Raises:
        DecodeError: as `decode_ata_identify`.
    """
    return asdict(decode_ata_identify(raw))


def describe_ata_smart(raw: bytes) -> dict[str, object]:
    """The SMART attributes, with their thresholds where a second block holds them.

    Raises:
        DecodeError: neither one block nor two, or as the decoders of each.
    """
    if len(raw) not in {BLOCK, 2 * BLOCK}:
        what = f"one block of {BLOCK} bytes, or two with the thresholds in the second"
        raise DecodeError("SMART data", min(len(raw), BLOCK), f"has {what}, got {len(raw)}")
    smart = decode_ata_smart(raw[:BLOCK])
    thresholds = _thresholds(raw[BLOCK:]) if len(raw) > BLOCK else {}
    return {
        "revision": smart.revision,
        "offline_status": smart.offline_status,
        "self_test_status": smart.self_test_status,
        "attributes": [
            _attribute(found, thresholds.get(found.number)) for found in smart.attributes.values()
        ],
    }


def _thresholds(raw: bytes) -> dict[int, int]:
    try:
        return dict(decode_ata_thresholds(raw))
    except DecodeError as error:
        raise DecodeError(error.what, BLOCK + error.offset, error.message) from None


def _attribute(found: SmartAttribute, threshold: int | None) -> dict[str, object]:
    failing = None if threshold is None else is_at_threshold(found, threshold)
    return {**asdict(found), "threshold": threshold, "at_threshold": failing}
