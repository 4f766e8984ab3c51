"""Self-encryption of a drive as the kernel tells it: `struct opal_status`.

Flags: include/uapi/linux/sed-opal.h (`OPAL_FL_*`), four bytes in the machine's order, then four
reserved ones.
"""

from __future__ import annotations

import sys
from typing import Final

from closeout.decode.failure import DecodeError

WHAT: Final = "Opal status"
SIZE: Final = 8
FLAGS: Final = (
    "supported",
    "locking supported",
    "enabled",
    "locked",
    "shadow boot record enabled",
    "shadow boot record done",
)
"""Bits 0 to 5."""


def decode_opal_status(raw: bytes) -> tuple[str, ...]:
    """The flags in words, in their order; none where the drive has no such lock.

    Raises:
        DecodeError: no eight bytes.
    """
    if len(raw) != SIZE:
        raise DecodeError(WHAT, min(len(raw), SIZE), f"has {SIZE} bytes, got {len(raw)}")
    flags = int.from_bytes(raw[:4], sys.byteorder)
    return tuple(words for bit, words in enumerate(FLAGS) if flags >> bit & 1)
