"""Storage controllers by their mode, and whether it hides drives; ids are invented."""

import errno

import pytest

from closeout.model.reading import Absent, Reading, Unreadable, Value
from closeout.model.storage import StorageController
from closeout.readers.storage_controller import find_controllers, read_controller
from strategies.drawn_tree import Content, DrawnTree
from strategies.shown import values_of

PCI = "sys/devices/pci0000:00"
BRIDGED = f"{PCI}/0000:00:0e.0"
AHCI = f"{PCI}/0000:00:17.0"
INSIDE = f"{BRIDGED}/pci10000:e0/10000:e0:06.0/10000:e1:00.0"
NVME = f"{INSIDE}/nvme/nvme0"
SATA = f"{AHCI}/ata1/host0/target0:0:0/0:0:0:0/block/sda"


def machine(
    functions: dict[str, str],
    drives: dict[str, str] | None = None,
    drivers: dict[str, str] | None = None,
    files: dict[str, Content] | None = None,
) -> DrawnTree:
    """A machine with PCI functions by class, drives by their class link, and drivers."""
    links = {f"sys/bus/pci/devices/{place.rsplit('/', 1)[-1]}": place for place in functions}
    links |= drives or {}
    links |= {f"{at}/driver": f"sys/bus/pci/drivers/{name}" for at, name in (drivers or {}).items()}
    drawn: dict[str, Content] = {
        f"{place}/class": f"0x{code}\n".encode() for place, code in functions.items()
    }
    for place in (drives or {}).values():
        drawn[f"{place}/device/model"] = b"Norvik\n"
    return DrawnTree(
        files={**drawn, **(files or {})},
        links=links,
        folders=("sys/class/net", "sys/block", "sys/bus/pci/drivers"),
    )


def read(tree: DrawnTree, place: str) -> StorageController:
    listing = find_controllers(tree)
    assert isinstance(listing, Value)
    assert place in listing.value
    return read_controller(tree, place)


def hidden(reading: Reading[bool]) -> bool:
    assert isinstance(reading, Value)
    assert reading.sources
    return reading.value


@pytest.mark.parametrize(
    ("code", "mode"),
    [
        ("010802", "nvme"),
        ("010601", "ahci"),
        ("010600", "sata"),
        ("01018a", "ide"),
        ("010400", "raid"),
        ("010700", "sas"),
        ("010000", "scsi"),
        ("010900", "ufs"),
        ("018000", "other"),
        ("080501", "sd host"),
    ],
)
def test_the_class_code_is_the_mode(code: str, mode: str) -> None:
    found = read(machine({AHCI: code}), AHCI)
    assert found.mode == Value(value=mode, sources=(f"{AHCI}/class",))


def test_a_controller_with_its_drive_is_read_whole() -> None:
    tree = machine(
        {AHCI: "010601", f"{PCI}/0000:00:02.0": "030000"},
        {"sys/block/sda": SATA},
        {AHCI: "ahci"},
        {
            f"{AHCI}/vendor": b"0x1af9\n",
            f"{AHCI}/device": b"0x2922\n",
            f"{AHCI}/remapped_nvme": b"0\n",
        },
    )
    assert find_controllers(tree) == Value(value=(AHCI,), sources=("sys/bus/pci/devices",))
    assert values_of(read(tree, AHCI)) == {
        "mode": "ahci",
        "ids": "1af9:2922",
        "class_code": "010601",
        "driver": "ahci",
        "drives": ("sda",),
        "remapped_drives": 0,
        "hides_drives": False,
    }


def test_raid_without_a_driver_hides_its_drives() -> None:
    found = read(machine({AHCI: "010400"}), AHCI)
    assert hidden(found.hides_drives)
    assert isinstance(found.remapped_drives, Absent)


def test_a_bridge_of_drives_that_shows_them_hides_none() -> None:
    """A RAID function whose driver opens a bus of its own below it."""
    functions = {BRIDGED: "010400", INSIDE: "010802"}
    drivers = {BRIDGED: "bridge", INSIDE: "nvme"}
    shown = machine(functions, {"sys/class/nvme/nvme0": NVME}, drivers)
    found = read(shown, BRIDGED)
    assert found.drives == Value(value=("nvme0",), sources=("sys/class/nvme", "sys/block"))
    assert not hidden(found.hides_drives)
    assert not hidden(read(shown, INSIDE).hides_drives)


def test_a_bridge_of_drives_that_shows_none_hides_them() -> None:
    tree = machine({BRIDGED: "010400"}, {"sys/block/sda": SATA}, {BRIDGED: "bridge"})
    assert hidden(read(tree, BRIDGED).hides_drives)


@pytest.mark.parametrize("code", ["010400", "010601"])
def test_remapped_drives_are_hidden_whatever_the_class(code: str) -> None:
    tree = machine(
        {AHCI: code},
        {"sys/block/sda": SATA},
        {AHCI: "ahci"},
        {f"{AHCI}/remapped_nvme": b"1\n"},
    )
    found = read(tree, AHCI)
    assert hidden(found.hides_drives)
    assert found.remapped_drives == Value(value=1, sources=(f"{AHCI}/remapped_nvme",))


def test_what_is_not_known_is_not_judged() -> None:
    raid, bound = {AHCI: "010400"}, {AHCI: "raid"}
    for tree, error in (
        (machine(raid, None, bound, {f"{AHCI}/remapped_nvme": errno.EIO}), "EIO"),
        (machine(raid, None, bound, {"sys/block": errno.EACCES}), "EACCES"),
    ):
        reading = read(tree, AHCI).hides_drives
        assert isinstance(reading, Unreadable)
        assert reading.error == error
    no_link = machine(raid, files={f"{AHCI}/driver": b"no link"})
    assert isinstance(read(no_link, AHCI).hides_drives, Unreadable)


def test_a_function_of_unknown_class_leaves_the_controllers_unknown() -> None:
    tree = machine({AHCI: "010601", BRIDGED: "010400"}, files={f"{BRIDGED}/class": errno.EIO})
    assert isinstance(find_controllers(tree), Unreadable)
    assert isinstance(find_controllers(DrawnTree()), Absent)
