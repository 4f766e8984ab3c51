"""What an EUI-48 address says of itself (IEEE 802, clause 8: bits and forms of addresses)."""

from __future__ import annotations

import re
from enum import Enum
from itertools import pairwise
from typing import Final

from closeout.model.late_pattern import late_pattern

OCTETS: Final = 6
ADDRESS: Final = late_pattern(r"[0-9a-f]{2}(?:([:-])[0-9a-f]{2})(?:\1[0-9a-f]{2}){4}")
GROUP_BIT: Final = 0x01
LOCAL_BIT: Final = 0x02

SAMPLE_BLOCKS: Final = (
    bytes.fromhex("acde48"),  # the block of the examples in IEEE 802 texts (from memory)
    bytes.fromhex("00005e0053"),  # for documentation: RFC 9542, section 2.1.2
)
COUNTING: Final = ("0123456789abcdef", "1234567890abcdef", "112233445566778899aabbccddeeff")


class MacForm(Enum):
    """What kind of address it is; anything but UNIVERSAL is wrong for a card as it was made."""

    UNIVERSAL = "universal"
    MALFORMED = "not an address of six octets"
    ZERO = "all zero: not programmed"
    BROADCAST = "all ones: blank memory"
    GROUP = "a group address: no card can have it"
    LOCAL = "locally administered: virtual, random or not programmed"
    SAMPLE = "out of a block for examples: not programmed"
    SEQUENCE = "repeating or counting digits: not programmed"
    EMPTY_STATION = "its last three octets are all alike 00 or ff: not programmed"


def describe_mac(text: str) -> MacForm:
    """What kind of address the text is; any text gives an answer. Separators are `:` or `-`."""
    octets = _octets(text)
    if octets is None:
        return MacForm.MALFORMED
    for form, holds in FORMS:
        if holds(octets):
            return form
    return MacForm.UNIVERSAL


def _octets(text: str) -> bytes | None:
    trimmed = text.strip().lower()
    if not ADDRESS.fullmatch(trimmed):
        return None
    return bytes.fromhex(re.sub("[:-]", "", trimmed))


def _is_zero(octets: bytes) -> bool:
    return octets == bytes(OCTETS)


def _is_broadcast(octets: bytes) -> bool:
    return octets == b"\xff" * OCTETS


def _is_group(octets: bytes) -> bool:
    return bool(octets[0] & GROUP_BIT)


def _is_local(octets: bytes) -> bool:
    return bool(octets[0] & LOCAL_BIT)


def _is_sample(octets: bytes) -> bool:
    return octets.startswith(SAMPLE_BLOCKS)


def _is_sequence(octets: bytes) -> bool:
    """All octets count by one step, or the last three alone show counting digits."""
    steps = {(after - before) % 256 for before, after in pairwise(octets)}
    if len(steps) == 1:
        return True
    station = octets[3:].hex()
    return any(station in counting for counting in COUNTING)


def _is_empty_station(octets: bytes) -> bool:
    return octets[3:] in {bytes(3), b"\xff" * 3}


FORMS: Final = (
    (MacForm.ZERO, _is_zero),
    (MacForm.BROADCAST, _is_broadcast),
    (MacForm.GROUP, _is_group),
    (MacForm.LOCAL, _is_local),
    (MacForm.SAMPLE, _is_sample),
    (MacForm.SEQUENCE, _is_sequence),
    (MacForm.EMPTY_STATION, _is_empty_station),
)
"""The first that holds speaks: a blank address also has its group and local bits set."""
