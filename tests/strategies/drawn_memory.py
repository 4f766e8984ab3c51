"""Drawn units with memory: a table, the kernel's total, and what the readers make of them."""

from closeout.model.inventory import Section
from closeout.model.memory import MainMemory, MemoryModule
from closeout.model.reading import Value
from closeout.readers.memory import READERS
from strategies import smbios
from strategies.drawn_tree import Content, DrawnTree

TABLE = "sys/firmware/dmi/tables/DMI"
MEMINFO = "proc/meminfo"
GIB = 1 << 30
MODULE_A = smbios.memory_device(
    locator="ChannelA-DIMM0",
    bank_locator="BANK 0",
    manufacturer="Orlune Memory",
    part_number="OM4-8G32S   ",
    serial="9F31C0A7",
    asset_tag="9876543210",
    configured_speed=2933,
)
EMPTY_B = smbios.memory_device(
    locator="ChannelB-DIMM0", size=0, widths=(0xFFFF, 0xFFFF), memory_type=2, speed=0
)
SOUND = (smbios.memory_array(), MODULE_A, EMPTY_B, smbios.end_of_table())
TOTAL = b"MemTotal:        7876543 kB\nMemFree:          123456 kB\n"


def drawn(*structures: bytes, **files: Content) -> DrawnTree:
    return DrawnTree(files={TABLE: smbios.build_table(structures), MEMINFO: TOTAL, **files})


def read_section(tree: DrawnTree, kind: str) -> Section:
    reader = next(reader for reader in READERS if reader.kind == kind)
    listing = reader.find(tree)
    places = listing.value if isinstance(listing, Value) else ()
    devices = tuple(reader.read(tree, place) for place in places)
    return Section(kind=kind, listing=listing, devices=devices)


def modules_of(tree: DrawnTree) -> list[MemoryModule]:
    devices = read_section(tree, "memory_module").devices
    return [device for device in devices if isinstance(device, MemoryModule)]


def memory_of(tree: DrawnTree) -> MainMemory:
    device = read_section(tree, "main_memory").devices[0]
    assert isinstance(device, MainMemory)
    return device
