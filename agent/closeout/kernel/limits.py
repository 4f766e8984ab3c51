"""How large an answer may be; what is larger fails as TOO_LARGE and is never cut short."""

from __future__ import annotations

from typing import Final

KIB: Final = 1024
MIB: Final = 1024 * KIB

FILE_LIMIT: Final = MIB
"""An attribute has at most a page, a log or binary attribute well below this."""

NAMES_LIMIT: Final = 65_536
"""Entries of one listing; the kernel's longest that we ask for has a few hundred."""

NAMES_BYTES: Final = MIB
"""Of the names of one listing together."""

LARGER: Final = (
    # An SSDT or an OEM's own table may hold images; the length field has 32 bits.
    ("sys/firmware/acpi/tables/", 4 * MIB),
    # SMBIOS 3 gives the maximum size of the table in 32 bits; real ones have some KiB.
    ("sys/firmware/dmi/tables/", 4 * MIB),
    # Lists of PCI and USB names, 1.5 MB and growing.
    ("usr/share/", 4 * MIB),
    ("var/lib/usbutils/", 4 * MIB),
)
"""Path prefixes whose files may be larger than `FILE_LIMIT`, in bytes, with the reason."""


LARGER_PREFIXES: Final = tuple(prefix for prefix, _ in LARGER)


def byte_limit(path: str) -> int:
    """How many bytes the file at a path may have."""
    if not path.startswith(LARGER_PREFIXES):
        return FILE_LIMIT
    return next(limit for prefix, limit in LARGER if path.startswith(prefix))
