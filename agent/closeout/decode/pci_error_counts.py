"""Counts of Advanced Error Reporting: lines of a name and a number, and a line with the total.

Kernel files `aer_dev_correctable`, `aer_dev_nonfatal`, `aer_dev_fatal`
(Documentation/ABI/testing/sysfs-bus-pci-devices-aer_stats). The names there are long; the kernel
writes short ones (`RxErr`, `BadTLP`; drivers/pci/pcie/aer.c). The total stands by itself: one
message may report several errors, so it need not be the sum.
"""

from __future__ import annotations

from typing import Final

from closeout.decode.failure import DecodeError
from closeout.decode.plain_text import decode_text
from closeout.model.frozen import frozen
from closeout.model.late_pattern import late_pattern

LINE: Final = late_pattern(r"(\S(?:.*\S)?) ([0-9]{1,20})")
TOTAL: Final = "TOTAL_ERR_"


@frozen
class PciErrorCounts:
    """How many error messages there were, and each error by name, zeros included."""

    total: int
    by_name: tuple[tuple[str, int], ...]


def decode_pci_error_counts(raw: bytes) -> PciErrorCounts:
    """The counts in a file; raises DecodeError where it is not such a file."""
    text = decode_text(raw)
    totals: list[int] = []
    named: list[tuple[str, int]] = []
    offset = 0
    for line in text.split("\n"):
        if line:
            found = LINE.fullmatch(line)
            if found is None:
                raise DecodeError("PCI error counts", offset, "a name and a number were expected")
            if found[1].startswith(TOTAL):
                totals.append(int(found[2]))
            else:
                named.append((found[1], int(found[2])))
        offset += len(line) + 1
    if len(totals) != 1:
        raise DecodeError("PCI error counts", len(raw), f"{len(totals)} totals, where one belongs")
    return PciErrorCounts(total=totals[0], by_name=tuple(named))
