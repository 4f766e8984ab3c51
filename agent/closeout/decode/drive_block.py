"""What the blocks that drives answer with have in common: size, emptiness, sum, numbers."""

from __future__ import annotations

from typing import Final

from closeout.decode.failure import DecodeError

BLOCK: Final = 512
CHECKSUM_AT: Final = BLOCK - 1


def require_block(what: str, raw: bytes) -> None:
    """Raise where the answer is no block of 512 bytes that somebody filled in.

    Raises:
        DecodeError: another size; or every byte is 00h or FFh, as bridges and devices that have
            dropped off their bus answer (common practice, no standard says so).
    """
    if len(raw) != BLOCK:
        raise DecodeError(what, min(len(raw), BLOCK), f"has {BLOCK} bytes, got {len(raw)}")
    if raw in {bytes(BLOCK), b"\xff" * BLOCK}:
        raise DecodeError(what, 0, f"every byte is {raw[0]:02X}h: nobody filled it in")


def is_sum_good(raw: bytes) -> bool:
    """All bytes of the block add up to zero modulo 256."""
    return sum(raw) % 256 == 0


def number_at(raw: bytes, at: int, size: int) -> int:
    """The unsigned little-endian number of so many bytes."""
    return int.from_bytes(raw[at : at + size], "little")
