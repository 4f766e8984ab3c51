"""System, board, chassis, firmware and the maker's strings: what the unit says that it is.

Kernel paths: `sys/firmware/dmi/tables/` first, `sys/class/dmi/id/*` for what is not readable
there. Documents: DMTF DSP0134 sections 7.1 to 7.4 and 7.12.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final, Generic, TypeVar

from closeout.decode.smbios_bios import decode_bios
from closeout.decode.smbios_chassis import decode_chassis
from closeout.decode.smbios_identity import (
    OemStringsRecord,
    decode_board,
    decode_oem_strings,
    decode_system,
)
from closeout.decode.smbios_table import Structure
from closeout.kernel.tree import KernelTree
from closeout.model.device import Position
from closeout.model.frozen import frozen
from closeout.model.identity import Bios, Board, Chassis, OemStrings, System
from closeout.model.inventory import Listing
from closeout.model.reading import Absent, Blank, Reading, Unreadable, Value, convert
from closeout.readers import identity_views
from closeout.readers.dmi_view import list_dmi, read_dmi
from closeout.readers.identity_fields import BIOS, BOARD, CHASSIS, SYSTEM, Spot, files_of
from closeout.readers.placeholder import sort_text
from closeout.readers.reader import Reader
from closeout.readers.smbios_view import (
    PADDING,
    Seen,
    index_of,
    list_structures,
    missing_structure_listing,
    read_smbios,
    structure_at,
    tell,
)

R = TypeVar("R")

BIOS_TYPE: Final = 0
SYSTEM_TYPE: Final = 1
BOARD_TYPE: Final = 2
CHASSIS_TYPE: Final = 3
OEM_STRINGS_TYPE: Final = 11
CHASSIS_PLACE: Final = "dmi:chassis"


@frozen
class Sight(Generic[R]):
    """One structure in both views: its record in the raw table, and the kernel's files.

    `in_kernel` is false for a structure that the kernel's files are not about: they show the
    first of each type.
    """

    tree: KernelTree
    record: Reading[R]
    spots: Mapping[str, Spot[R]]
    in_kernel: bool

    def text(self, attribute: str) -> Reading[str]:
        """What the raw table says, else what the kernel says."""
        spot = self.spots[attribute]
        told = _sorted_text(tell(self.record, spot.get), spot.field)
        if isinstance(self.record, Value) and not isinstance(told, Unreadable):
            return told
        if not (spot.file and self.in_kernel):
            return told
        kernel = _sorted_text(read_dmi(self.tree, spot.file), spot.field)
        if isinstance(kernel, Absent | Unreadable) and isinstance(told, Value | Unreadable):
            return told
        return kernel


def find_system(tree: KernelTree) -> Listing:
    """The one system."""
    return _find(tree, SYSTEM_TYPE, ("dmi:system",), files_of(SYSTEM))


def find_board(tree: KernelTree) -> Listing:
    """The one system board."""
    return _find(tree, BOARD_TYPE, ("dmi:board",), files_of(BOARD))


def find_chassis(tree: KernelTree) -> Listing:
    """Every chassis structure of the raw table; the kernel's files know only the first."""
    listing = list_structures(read_smbios(tree), CHASSIS_TYPE, CHASSIS_PLACE)
    if isinstance(listing, Value) and listing.value:
        return listing
    return _find(tree, CHASSIS_TYPE, (f"{CHASSIS_PLACE}.0",), files_of(CHASSIS))


def find_bios(tree: KernelTree) -> Listing:
    """The one system firmware."""
    return _find(tree, BIOS_TYPE, ("dmi:bios",), files_of(BIOS))


def find_oem_strings(tree: KernelTree) -> Listing:
    """Every structure with the maker's strings; only the raw table has them."""
    return list_structures(read_smbios(tree), OEM_STRINGS_TYPE, "dmi:oem_strings")


def read_system(tree: KernelTree, place: str) -> System:
    """The system structure (type 1)."""
    seen = read_smbios(tree)
    version = seen.value.version if isinstance(seen, Value) else None
    structure = structure_at(seen, SYSTEM_TYPE)
    record = convert(structure, lambda found: decode_system(found, version))
    sight = Sight(tree=tree, record=record, spots=SYSTEM, in_kernel=True)
    return System(
        place=place,
        label="system",
        position=Position.INTERNAL,
        manufacturer=sight.text("manufacturer"),
        product=sight.text("product"),
        version=sight.text("version"),
        serial=sight.text("serial"),
        uuid=sight.text("uuid"),
        sku=sight.text("sku"),
        family=sight.text("family"),
        wake_up=sight.text("wake_up"),
    )


def read_board(tree: KernelTree, place: str) -> Board:
    """The board structure (type 2) that hosts the others, or the first."""
    seen = read_smbios(tree)
    index = _hosting_board(seen)
    record = convert(structure_at(seen, BOARD_TYPE, index), decode_board)
    sight = Sight(tree=tree, record=record, spots=BOARD, in_kernel=index == 0)
    return Board(
        place=place,
        label="system board",
        position=Position.INTERNAL,
        manufacturer=sight.text("manufacturer"),
        product=sight.text("product"),
        version=sight.text("version"),
        serial=sight.text("serial"),
        asset_tag=sight.text("asset_tag"),
        location=sight.text("location"),
        board_type=sight.text("board_type"),
    )


def read_chassis(tree: KernelTree, place: str) -> Chassis:
    """One chassis structure (type 3)."""
    index = index_of(place)
    record = convert(structure_at(read_smbios(tree), CHASSIS_TYPE, index), decode_chassis)
    sight = Sight(tree=tree, record=record, spots=CHASSIS, in_kernel=index == 0)
    return Chassis(
        place=place,
        label=f"chassis {index + 1}" if index else "chassis",
        position=Position.INTERNAL,
        manufacturer=sight.text("manufacturer"),
        chassis_type=sight.text("chassis_type"),
        version=sight.text("version"),
        serial=sight.text("serial"),
        asset_tag=sight.text("asset_tag"),
        sku=sight.text("sku"),
        boot_up_state=sight.text("boot_up_state"),
        power_supply_state=sight.text("power_supply_state"),
        thermal_state=sight.text("thermal_state"),
        security_status=sight.text("security_status"),
    )


def read_bios(tree: KernelTree, place: str) -> Bios:
    """The firmware structure (type 0)."""
    record = convert(structure_at(read_smbios(tree), BIOS_TYPE), decode_bios)
    sight = Sight(tree=tree, record=record, spots=BIOS, in_kernel=True)
    return Bios(
        place=place,
        label="system firmware",
        position=Position.INTERNAL,
        vendor=sight.text("vendor"),
        version=sight.text("version"),
        date=sight.text("date"),
        release=sight.text("release"),
        ec_release=sight.text("ec_release"),
        rom_size_bytes=tell(record, lambda bios: bios.rom_size_bytes),
        uefi_capable=tell(record, lambda bios: bios.is_uefi_capable),
    )


def read_oem_strings(tree: KernelTree, place: str) -> OemStrings:
    """One structure with the maker's strings (type 11)."""
    structure = structure_at(read_smbios(tree), OEM_STRINGS_TYPE, index_of(place))
    return OemStrings(
        place=place,
        label="maker's strings",
        position=Position.INTERNAL,
        strings=_filled_strings(convert(structure, decode_oem_strings)),
    )


def _find(
    tree: KernelTree, type_number: int, places: tuple[str, ...], files: frozenset[str]
) -> Listing:
    """The places if either view has the structure; missing only if a whole view says so."""
    seen = read_smbios(tree)
    if isinstance(seen, Value) and seen.value.table.of_type(type_number):
        return Value(value=places, sources=seen.sources)
    kernel = list_dmi(tree)
    if isinstance(kernel, Value) and files.intersection(kernel.value):
        return Value(value=places, sources=kernel.sources)
    if isinstance(seen, Value):
        return missing_structure_listing(seen.value, type_number)
    return kernel if isinstance(kernel, Unreadable) and isinstance(seen, Absent) else seen


def _sorted_text(reading: Reading[str], field: str) -> Reading[str]:
    trimmed = convert(reading, lambda text: text.rstrip(PADDING))
    return sort_text(trimmed, field) if field else trimmed


def _hosting_board(seen: Seen) -> int:
    boards = seen.value.table.of_type(BOARD_TYPE) if isinstance(seen, Value) else ()
    hosting = (index for index, board in enumerate(boards) if _is_hosting(board))
    return next(hosting, 0)


def _is_hosting(structure: Structure) -> bool:
    return decode_board(structure).is_hosting is True


def _filled_strings(record: Reading[OemStringsRecord]) -> Reading[tuple[str, ...]]:
    fields = tell(record, lambda told: told.strings)
    if not isinstance(fields, Value):
        return fields
    texts = [field.rstrip(PADDING) for field in fields.value if isinstance(field, str)]
    filled = tuple(text for text in texts if text)
    if not filled:
        return Blank(reason="the structure holds no text", sources=fields.sources)
    return Value(value=filled, sources=fields.sources)


READERS: Final = (
    Reader(kind="system", find=find_system, read=read_system),
    Reader(kind="board", find=find_board, read=read_board),
    Reader(kind="chassis", find=find_chassis, read=read_chassis),
    Reader(kind="bios", find=find_bios, read=read_bios),
    Reader(kind="oem_strings", find=find_oem_strings, read=read_oem_strings),
    *identity_views.READERS,
)
