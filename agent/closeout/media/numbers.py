"""The numbers of a stick that are otherwise drawn by chance: made out of what is on it."""

from __future__ import annotations

import hashlib
from uuid import UUID

from closeout.model.frozen import frozen


@frozen
class Numbers:
    """All numbers that follow from a `seed`: the same content, the same numbers."""

    seed: str

    def volume(self, name: str) -> str:
        """The number of a file system, as `XXXX-XXXX`."""
        number = self._digest(name)[:4].hex().upper()
        return f"{number[:4]}-{number[4:]}"

    def guid(self, name: str) -> UUID:
        """The number of a disk or partition (RFC 9562, version 8: out of content)."""
        drawn = bytearray(self._digest(name)[:16])
        drawn[6] = drawn[6] & 0x0F | 0x80
        drawn[8] = drawn[8] & 0x3F | 0x80
        return UUID(bytes=bytes(drawn))

    def _digest(self, name: str) -> bytes:
        return hashlib.sha256(f"closeout {name} {self.seed}".encode()).digest()
