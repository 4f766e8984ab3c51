"""Packs of mice, pens and docks: told, and never taken for the unit's own."""

import errno

import pytest

from closeout.model.attribute import attributes_of
from closeout.model.battery import PeripheralBattery
from closeout.model.device import Position
from closeout.model.reading import Absent, Blank, Unreadable, Value
from closeout.readers.adapter import find_adapters
from closeout.readers.battery import find_batteries
from closeout.readers.peripheral_battery import (
    READERS,
    find_peripheral_batteries,
    read_peripheral_battery,
)
from strategies.drawn_tree import Content, DrawnTree
from strategies.power_supply import ACPI_PACK, CHARGE_PACK, CLASS, ENERGY_PACK, drawn_supplies
from strategies.shown import value_of, values_of

PORT = "sys/devices/pci0000:00/0000:00:14.0/usb1/1-2/1-2:1.0"
MOUSE: dict[str, Content] = {
    "type": b"Battery\n",
    "scope": b"Device\n",
    "present": b"1\n",
    "online": b"1\n",
    "status": b"Discharging\n",
    "model_name": b"Wide Mouse\n",
    "capacity": b"74\n",
    "capacity_level": b"Normal\n",
}
DOCK: dict[str, Content] = {**CHARGE_PACK, "scope": b"System\n"}


def supply_at(place: str, files: dict[str, Content]) -> DrawnTree:
    name = place.rsplit("/", 1)[-1]
    return DrawnTree(
        files={f"{place}/{file}": content for file, content in files.items()},
        links={f"{CLASS}/{name}": place},
    )


def test_a_mouse_is_read_whole() -> None:
    tree = drawn_supplies(BAT0=ENERGY_PACK, mouse=MOUSE)
    (place,) = value_of(find_peripheral_batteries(tree))
    pack = read_peripheral_battery(tree, place)
    assert (pack.label, pack.position) == ("mouse", Position.EXTERNAL)
    assert values_of(pack) == {
        "why_peripheral": "the kernel says that its scope is a device",
        "supply_type": "Battery",
        "model": "Wide Mouse",
        "present": True,
        "online": True,
        "status": "Discharging",
        "capacity_percent": 74,
        "capacity_level": "Normal",
    }


@pytest.mark.parametrize(
    ("place", "why"),
    [
        (f"{PORT}/power_supply/dock", "a USB device, 1-2"),
        (f"{PORT}/0003:FE31:0301.0002/power_supply/dock", "a USB device, 1-2"),
        (
            "sys/devices/pci0000:00/i2c-1/i2c-FE31:00/0018:FE31:0301.0002/power_supply/dock",
            "an input device (HID), 0018:FE31:0301.0002",
        ),
        (
            "sys/devices/virtual/bluetooth/hci0/hci0:12/power_supply/dock",
            "a Bluetooth radio, hci0",
        ),
    ],
)
def test_what_comes_and_goes_with_a_device_is_not_the_units_own(place: str, why: str) -> None:
    """Whatever its scope says: a keyboard dock's pack says System, as it feeds the unit too."""
    tree = supply_at(place, DOCK)
    assert value_of(find_batteries(tree)) == ()
    assert value_of(find_peripheral_batteries(tree)) == (place,)
    assert value_of(read_peripheral_battery(tree, place).why_peripheral) == f"it sits on {why}"


@pytest.mark.parametrize(
    "place",
    [
        f"{ACPI_PACK}/BAT1",
        "sys/devices/pci0000:00/0000:00:15.1/i2c-2/2-0055/power_supply/gauge",
        "sys/devices/platform/aggregator/01:02:01:01:01/power_supply/BAT2",
    ],
)
def test_packs_of_acpi_i2c_and_the_platform_are_the_units_own(place: str) -> None:
    tree = supply_at(place, DOCK)
    assert value_of(find_batteries(tree)) == (place,)
    assert value_of(find_peripheral_batteries(tree)) == ()


def test_the_name_of_an_input_device_is_personal_and_stands_in_for_a_serial_number() -> None:
    device = "sys/devices/virtual/misc/uhid/0005:FE32:0107.0002"
    place = f"{device}/power_supply/hid-3c:1a:9f:00:00:07-battery"
    drawn = supply_at(place, MOUSE)
    uevent = b"HID_NAME=Pebble Mouse\nHID_UNIQ=3c:1a:9f:00:00:07\n"
    tree = DrawnTree(files={**drawn.files, f"{device}/uevent": uevent}, links=drawn.links)
    serial = read_peripheral_battery(tree, place).serial
    assert serial == Value(value="3c:1a:9f:00:00:07", sources=(f"{device}/uevent",))
    assert attributes_of(PeripheralBattery)["serial"].personal
    nameless = DrawnTree(files={**drawn.files, f"{device}/uevent": b"HID_UNIQ=\n"}, links={})
    assert isinstance(read_peripheral_battery(nameless, place).serial, Absent)


def test_a_ups_stands_outside_and_a_pad_is_an_adapter() -> None:
    """The types are those of Documentation/ABI/testing/sysfs-class-power."""
    tree = drawn_supplies(ups={**MOUSE, "type": b"UPS\n", "scope": b"System\n"})
    (place,) = value_of(find_peripheral_batteries(tree))
    told = read_peripheral_battery(tree, place)
    assert value_of(told.why_peripheral) == "the kernel calls it a UPS"
    assert value_of(find_batteries(tree)) == ()
    pad: dict[str, Content] = {"type": b"Wireless\n", "online": b"1\n"}
    assert len(value_of(find_adapters(drawn_supplies(pad=pad)))) == 1


def test_an_adapter_of_a_peripheral_is_none_of_ours() -> None:
    tree = drawn_supplies(tablet={"type": b"Mains\n", "scope": b"Device\n", "online": b"1\n"})
    assert value_of(find_adapters(tree)) == ()
    assert value_of(find_peripheral_batteries(tree)) == ()


def test_words_that_say_nothing_are_sorted() -> None:
    tree = drawn_supplies(
        pen={
            **MOUSE,
            "status": b"Unknown\n",
            "capacity_level": b"Unknown\n",
            "serial_number": b"\n",
        }
    )
    pack = read_peripheral_battery(tree, f"{ACPI_PACK}/pen")
    assert isinstance(pack.status, Absent)
    assert isinstance(pack.capacity_level, Absent)
    assert isinstance(pack.serial, Blank)


def test_a_peripheral_out_of_reach_gives_no_level() -> None:
    tree = drawn_supplies(pen={**MOUSE, "capacity": errno.ENODATA, "online": b"0\n"})
    pack = read_peripheral_battery(tree, f"{ACPI_PACK}/pen")
    assert isinstance(pack.capacity_percent, Unreadable)
    assert not value_of(pack.online)


def test_a_supply_that_went_away_has_nothing_to_tell() -> None:
    pack = read_peripheral_battery(DrawnTree(), f"{ACPI_PACK}/gone")
    for name in attributes_of(PeripheralBattery):
        assert isinstance(getattr(pack, name), Absent), name


@pytest.mark.parametrize("unread", ["type", "scope"])
def test_a_supply_that_does_not_tell_what_it_is_makes_the_list_unreadable(unread: str) -> None:
    listing = find_peripheral_batteries(drawn_supplies(pen={**MOUSE, unread: errno.EIO}))
    assert isinstance(listing, Unreadable)
    assert listing.sources == (f"{ACPI_PACK}/pen/{unread}",)


def test_the_list_names_the_kind() -> None:
    assert [reader.kind for reader in READERS] == ["peripheral_battery"]
    assert isinstance(find_peripheral_batteries(drawn_supplies()), Value)
