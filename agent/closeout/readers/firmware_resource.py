"""The firmware's resource table (ESRT): what can be updated, and how the last update ended.

Kernel path: `sys/firmware/efi/esrt/entries/entry*` (Documentation/ABI/testing/
sysfs-firmware-efi-esrt); every file of an entry is for root alone (drivers/firmware/efi/esrt.c).
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Final

from closeout.decode.firmware_resource import attempt_status, resource_type
from closeout.decode.smbios_fields import Field
from closeout.kernel.tree import KernelTree
from closeout.model.device import Position
from closeout.model.firmware_resource import FirmwareResource
from closeout.model.inventory import Listing
from closeout.model.reading import Absent, Reading, Value, convert
from closeout.readers.attributes import list_folder, read_integer, read_text
from closeout.readers.firmware import LEGACY, read_boot_mode
from closeout.readers.places import label_of
from closeout.readers.reader import Reader
from closeout.readers.smbios_view import reading_of

EFI: Final = "sys/firmware/efi"
ESRT: Final = "esrt"
ENTRIES: Final = f"{EFI}/{ESRT}/entries"


def find_firmware_resources(tree: KernelTree) -> Listing:
    """The entries of the table; none where a unit started by UEFI shows no table."""
    boot_mode = read_boot_mode(tree)
    if isinstance(boot_mode, Value) and boot_mode.value == LEGACY:
        return Absent(reason="started in legacy mode", sources=boot_mode.sources)
    entries = list_folder(tree, ENTRIES)
    if isinstance(entries, Value):
        places = tuple(f"{ENTRIES}/{name}" for name in entries.value)
        return Value(value=places, sources=entries.sources)
    folder = list_folder(tree, EFI)
    if isinstance(entries, Absent) and isinstance(folder, Value) and ESRT not in folder.value:
        return Value(value=(), sources=folder.sources)
    return entries


def read_firmware_resource(tree: KernelTree, place: str) -> FirmwareResource:
    """One entry."""

    def number(name: str) -> Reading[int]:
        return read_integer(tree, f"{place}/{name}")

    return FirmwareResource(
        place=place,
        label=label_of(place),
        position=Position.INTERNAL,
        firmware_class=convert(read_text(tree, f"{place}/fw_class"), str.lower),
        firmware_type=_word(number("fw_type"), resource_type),
        version=number("fw_version"),
        lowest_supported_version=number("lowest_supported_fw_version"),
        last_attempt_version=number("last_attempt_version"),
        last_attempt_status=_word(number("last_attempt_status"), attempt_status),
    )


def _word(number: Reading[int], word: Callable[[int], Field[str]]) -> Reading[str]:
    if not isinstance(number, Value):
        return number
    return reading_of(word(number.value), number.sources)


READERS: Final = (
    Reader(kind="firmware_resource", find=find_firmware_resources, read=read_firmware_resource),
)
