"""A firmware variable as efivarfs shows it: u32 attributes, then the content.

UEFI specification 2.x, section 8.2 for the attributes and 3.3 for SecureBoot and SetupMode;
Linux Documentation/filesystems/efivarfs.rst for the four bytes in front.
"""

from __future__ import annotations

from typing import Final

from closeout.decode.failure import DecodeError
from closeout.model.frozen import frozen

WHAT: Final = "firmware variable"
ATTRIBUTES_LENGTH: Final = 4


@frozen
class EfiVariable:
    """Attribute bits (1 kept, 2 boot services, 4 run time ...) and content."""

    attributes: int
    content: bytes


def decode_efi_variable(raw: bytes) -> EfiVariable:
    """The variable.

    Raises:
        DecodeError: fewer bytes than the attributes take.
    """
    if len(raw) < ATTRIBUTES_LENGTH:
        raise DecodeError(WHAT, len(raw), f"the attributes take {ATTRIBUTES_LENGTH} bytes")
    return EfiVariable(
        attributes=int.from_bytes(raw[:ATTRIBUTES_LENGTH], "little"),
        content=raw[ATTRIBUTES_LENGTH:],
    )


def decode_efi_flag(raw: bytes) -> bool:
    """The content of a variable that is one byte, 0 or 1.

    Raises:
        DecodeError: any other length or content.
    """
    content = decode_efi_variable(raw).content
    if len(content) != 1:
        raise DecodeError(
            WHAT, ATTRIBUTES_LENGTH, f"one byte was expected, {len(content)} are there"
        )
    if content[0] > 1:
        raise DecodeError(WHAT, ATTRIBUTES_LENGTH, f"0 or 1 was expected, {content[0]} is there")
    return content[0] == 1
