"""How the unit was started, and its licence key table.

Kernel paths: `sys/firmware/efi` and its efivars (Documentation/ABI/testing/sysfs-firmware-efi,
Documentation/filesystems/efivarfs.rst; UEFI specification 3.3 for the variables) and
`sys/firmware/acpi/tables/MSDM` (drivers/acpi/sysfs.c), of which every source hands out the
statement of `decode.licence_statement` and never the table.
"""

from __future__ import annotations

from typing import Final

from closeout.decode.efi_variable import decode_efi_flag
from closeout.decode.failure import DecodeError
from closeout.decode.licence_statement import LicenceStatement, StatedTable, decode_statement
from closeout.decode.msdm import KeyFormat
from closeout.kernel.tree import KernelTree
from closeout.model.device import Position
from closeout.model.firmware import FirmwareState, LicenceTable
from closeout.model.inventory import Listing
from closeout.model.late_pattern import late_pattern
from closeout.model.reading import Absent, Blank, Reading, Unreadable, Value, convert
from closeout.readers.attributes import list_folder, read_bytes
from closeout.readers.places import label_of
from closeout.readers.reader import Reader

FIRMWARE: Final = "sys/firmware"
EFIVARS: Final = "sys/firmware/efi/efivars"
GLOBAL_VARIABLES: Final = "8be4df61-93ca-11d2-aa0d-00e098032b8c"
UEFI: Final = "uefi"
LEGACY: Final = "legacy"
TABLES: Final = "sys/firmware/acpi/tables"
MSDM: Final = "MSDM"
MSDM_NAME: Final = late_pattern(r"MSDM\d*")
"""The kernel numbers tables that share a signature."""
BLANK_KEYS: Final = frozenset(
    blank.value
    for blank in (KeyFormat.ALL_00, KeyFormat.ALL_FF, KeyFormat.SPACES, KeyFormat.NOTHING)
)


def find_firmware(tree: KernelTree) -> Listing:
    """The one place of the firmware, where the kernel shows it at all."""
    listing = list_folder(tree, FIRMWARE)
    return convert_places(listing, (FIRMWARE,))


def convert_places(listing: Listing, places: tuple[str, ...]) -> Listing:
    """These places where the listing could be read, its failure otherwise."""
    if isinstance(listing, Value):
        return Value(value=places, sources=listing.sources)
    return listing


def read_firmware(tree: KernelTree, place: str) -> FirmwareState:
    """How the running kernel was started."""
    boot_mode = read_boot_mode(tree)
    return FirmwareState(
        place=place,
        label="firmware",
        position=Position.INTERNAL,
        boot_mode=boot_mode,
        secure_boot=read_variable(tree, "SecureBoot", boot_mode),
        setup_mode=read_variable(tree, "SetupMode", boot_mode),
    )


def read_boot_mode(tree: KernelTree) -> Reading[str]:
    """`uefi` where the kernel has its folder; `legacy` only where the rest speaks for it.

    Every x86 kernel shows the memory map it was handed in `memmap` (drivers/firmware/memmap.c).
    A folder that holds chosen files and no such map does not tell how the unit was started.
    """
    listing = list_folder(tree, FIRMWARE)
    if not isinstance(listing, Value):
        return listing
    if "efi" in listing.value:
        return Value(value=UEFI, sources=listing.sources)
    if "memmap" in listing.value:
        return Value(value=LEGACY, sources=listing.sources)
    return Absent(reason="neither UEFI nor a memory map is shown", sources=listing.sources)


def read_variable(tree: KernelTree, name: str, boot_mode: Reading[str]) -> Reading[bool]:
    """A variable of the firmware that is on or off."""
    if not isinstance(boot_mode, Value):
        return boot_mode
    if boot_mode.value == LEGACY:
        return Absent(reason="started in legacy mode", sources=boot_mode.sources)
    path = f"{EFIVARS}/{name}-{GLOBAL_VARIABLES}"
    raw = read_bytes(tree, path)
    if isinstance(raw, Absent):
        return _explain_missing(tree, raw)
    if not isinstance(raw, Value):
        return raw
    try:
        return Value(value=decode_efi_flag(raw.value), sources=raw.sources)
    except DecodeError as failure:
        return Unreadable(error="MALFORMED", advice=str(failure), sources=raw.sources)


def _explain_missing(tree: KernelTree, missing: Absent) -> Absent | Unreadable:
    """A variable that is not there, or a file system that is not mounted."""
    listing = list_folder(tree, EFIVARS)
    if isinstance(listing, Unreadable):
        return listing
    sources = (*missing.sources, *listing.sources)
    if isinstance(listing, Value) and listing.value:
        return Absent(reason="the firmware has no such variable", sources=sources)
    return Unreadable(error="ENOENT", advice="mount efivarfs and read again", sources=sources)


def find_licence(tree: KernelTree) -> Listing:
    """The place of the licence table, there or not, where the ACPI tables can be listed."""
    listing = list_folder(tree, TABLES)
    if not isinstance(listing, Value):
        return listing
    if not listing.value:
        return Absent(reason="no ACPI table is shown", sources=listing.sources)
    names = [name for name in listing.value if MSDM_NAME.fullmatch(name)]
    return convert_places(listing, tuple(f"{TABLES}/{name}" for name in names or [MSDM]))


def read_licence(tree: KernelTree, place: str) -> LicenceTable:
    """What the statement says of the table; the key is not in it."""
    raw = read_bytes(tree, place)
    statement = read_statement(raw)
    table = _table_of(statement)
    return LicenceTable(
        place=place,
        label=label_of(place),
        position=Position.INTERNAL,
        present=read_presence(tree, place, raw),
        well_formed=convert(statement, _is_well_formed),
        checksum_good=convert(table, lambda stated: stated.checksum_good),
        key_format=convert(table, lambda stated: stated.key_format),
        key_token=_key_token(table),
    )


def read_presence(tree: KernelTree, place: str, raw: Reading[bytes]) -> Reading[bool]:
    """Whether the table is there, which its listing tells even where it cannot be read."""
    listing = list_folder(tree, TABLES)
    if isinstance(listing, Value) and listing.value:
        return Value(value=label_of(place) in listing.value, sources=listing.sources)
    return convert(raw, lambda _: True)


def read_statement(raw: Reading[bytes]) -> Reading[LicenceStatement]:
    """The statement that stands in place of the table."""
    if not isinstance(raw, Value):
        return raw
    try:
        return Value(value=decode_statement(raw.value), sources=raw.sources)
    except DecodeError as failure:
        return Unreadable(
            error="MALFORMED", advice=f"capture again: {failure}", sources=raw.sources
        )


def _table_of(statement: Reading[LicenceStatement]) -> Reading[StatedTable]:
    if not isinstance(statement, Value):
        return statement
    stated = statement.value
    if isinstance(stated, StatedTable):
        return Value(value=stated, sources=statement.sources)
    advice = f"no licence table at byte {stated.offset}: {stated.message}"
    return Unreadable(error="MALFORMED", advice=advice, sources=statement.sources)


def _is_well_formed(statement: LicenceStatement) -> bool:
    return isinstance(statement, StatedTable) and not statement.layout_faults


def _key_token(table: Reading[StatedTable]) -> Reading[str]:
    if not isinstance(table, Value):
        return table
    key_format = table.value.key_format
    if key_format == KeyFormat.WELL_FORMED.value:
        return Value(value=table.value.key_token, sources=table.sources)
    if key_format in BLANK_KEYS:
        return Blank(reason=key_format, sources=table.sources)
    return Absent(
        reason=f"no token of a key that is malformed: {key_format}", sources=table.sources
    )


READERS: Final = (
    Reader(kind="firmware", find=find_firmware, read=read_firmware),
    Reader(kind="licence", find=find_licence, read=read_licence),
)
