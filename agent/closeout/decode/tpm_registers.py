"""Values of a TPM's registers (PCR) as the kernel writes them.

Format: Documentation/ABI/stable/sysfs-class-tpm, `pcr-H/N` (hexadecimal without spaces) and
`device/pcrs` of TPM 1.2 (`PCR-00: 3A 3F ...`).
"""

from __future__ import annotations

from typing import Final

from closeout.model.late_pattern import late_pattern

VALUE: Final = late_pattern(r"(?:[0-9A-Fa-f]{2}){20,64}")
"""20 bytes of SHA-1 to 64 of SHA-512."""
LINE: Final = late_pattern(r"PCR-([0-9]{1,2}):((?: [0-9A-Fa-f]{2})+) *")


def is_measured(text: str) -> bool | None:
    """Whether anything was measured into the register: not all zero; None for any other text."""
    if VALUE.fullmatch(text) is None:
        return None
    return any(bytes.fromhex(text))


def register_of(text: str, number: int) -> str | None:
    """The value of one register out of the list of a TPM 1.2; None where it is not in it."""
    for line in text.split("\n"):
        found = LINE.fullmatch(line)
        if found and int(found[1]) == number:
            return found[2].replace(" ", "")
    return None
