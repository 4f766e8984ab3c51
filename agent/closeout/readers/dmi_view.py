"""The identity as the kernel shows it in `sys/class/dmi/id`, one text a file.

The kernel empties a string of spaces, and shows no `product_uuid` at all where the UUID is all
00 or all FF (drivers/firmware/dmi_scan.c). Serials and UUID are for root only.
"""

from __future__ import annotations

from typing import Final

from closeout.decode.smbios_chassis import decode_chassis_type
from closeout.kernel.tree import KernelTree
from closeout.model.inventory import Listing
from closeout.model.reading import Absent, Blank, Reading, Value, convert
from closeout.readers.attributes import list_folder, read_integer, read_text
from closeout.readers.identity_fields import CHASSIS_TYPE_FILE, DMI_ID, UUID_FILE
from closeout.readers.smbios_view import reading_of

HIDDEN_UUID: Final = "the kernel shows no UUID: it is all 00 or all FF"
UUID_SIBLINGS: Final = frozenset({"product_name", "product_serial", "sys_vendor"})


def list_dmi(tree: KernelTree) -> Listing:
    """The names of the files; missing where the kernel found no SMBIOS at all."""
    return list_folder(tree, DMI_ID)


def read_dmi(tree: KernelTree, file: str) -> Reading[str]:
    """The text of one file, in the words that the raw table's decoder uses."""
    path = f"{DMI_ID}/{file}"
    if file == UUID_FILE:
        return _read_uuid(tree, path)
    if file == CHASSIS_TYPE_FILE:
        return _read_chassis_type(tree, path)
    return read_text(tree, path)


def _read_uuid(tree: KernelTree, path: str) -> Reading[str]:
    uuid = convert(read_text(tree, path), str.lower)
    if not isinstance(uuid, Absent):
        return uuid
    listing = list_dmi(tree)
    if isinstance(listing, Value) and UUID_SIBLINGS.intersection(listing.value):
        return Blank(reason=HIDDEN_UUID, sources=uuid.sources)
    return uuid


def _read_chassis_type(tree: KernelTree, path: str) -> Reading[str]:
    number = read_integer(tree, path)
    if not isinstance(number, Value):
        return number
    return reading_of(decode_chassis_type(number.value), number.sources)
