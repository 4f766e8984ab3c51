"""The header that every ACPI table starts with (ACPI specification 6.x, section 5.2.6)."""

from __future__ import annotations

import struct
from typing import Final

from closeout.decode.failure import DecodeError
from closeout.model.frozen import frozen

WHAT: Final = "ACPI table"
HEADER: Final = struct.Struct("<4sIBB6s8sI4sI")
OTHER_HEADERS: Final = frozenset({b"FACS", b"RSD "})
"""Tables with headers of their own: FACS (5.2.10) and the root pointer (5.2.5)."""


@frozen
class AcpiHeader:
    """What the 36 bytes say; texts without their padding.

    `length` is what the table says of itself, `given` how many bytes there were. The sum is
    good when the first `length` bytes are all there and add up to zero modulo 256.
    """

    signature: str
    length: int
    given: int
    revision: int
    checksum: int
    checksum_good: bool
    oem_id: str
    oem_table_id: str
    oem_revision: int
    creator_id: str
    creator_revision: int


def decode_acpi_header(raw: bytes) -> AcpiHeader:
    """The header of a table; a wrong length or sum is a fact in it, not an error.

    Raises:
        DecodeError: fewer than 36 bytes, or no signature of such a table.
    """
    if len(raw) < HEADER.size:
        raise DecodeError(WHAT, len(raw), f"the header takes {HEADER.size} bytes")
    (sign, length, revision, checksum, oem, oem_table, oem_rev, creator, creator_rev) = (
        HEADER.unpack_from(raw)
    )
    if not (sign.isascii() and sign.isalnum()) or sign in OTHER_HEADERS:
        raise DecodeError(WHAT, 0, "four letters or digits that name a table were expected")
    return AcpiHeader(
        signature=sign.decode("ascii"),
        length=length,
        given=len(raw),
        revision=revision,
        checksum=checksum,
        checksum_good=_is_sum_zero(raw, length),
        oem_id=_unpadded(oem),
        oem_table_id=_unpadded(oem_table),
        oem_revision=oem_rev,
        creator_id=_unpadded(creator),
        creator_revision=creator_rev,
    )


def _is_sum_zero(raw: bytes, length: int) -> bool:
    return HEADER.size <= length <= len(raw) and sum(raw[:length]) % 256 == 0


def _unpadded(field: bytes) -> str:
    """Makers pad with spaces, NULs or both; what cannot be printed shows as a question mark."""
    text = field.rstrip(b" \0").decode("latin-1")
    return "".join(letter if letter.isprintable() else "?" for letter in text)
