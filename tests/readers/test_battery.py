"""Packs as the kernel shows them.

The numbers 38/45 Wh and 4.12/4.00 Ah with 84 % and 103 % are worked by hand: 100 x full / design.
"""

import errno

import pytest
from hypothesis import given
from hypothesis import strategies as st

from closeout.model.attribute import attributes_of
from closeout.model.battery import Battery
from closeout.model.device import Position
from closeout.model.reading import Absent, Blank, Filler, Unreadable, Value
from closeout.readers.battery import READERS, find_batteries, read_battery
from strategies.drawn_tree import Content, DrawnTree
from strategies.power_supply import (
    ACPI_PACK,
    CHARGE_PACK,
    CLASS,
    EMPTY_BAY,
    ENERGY_PACK,
    MAINS,
    drawn_supplies,
    microwatt_hours,
)
from strategies.shown import values_of


def read_pack(changes: dict[str, Content] | None = None) -> Battery:
    tree = drawn_supplies(BAT0={**ENERGY_PACK, **(changes or {})})
    return read_battery(tree, f"{ACPI_PACK}/BAT0")


def found(tree: DrawnTree) -> tuple[str, ...]:
    listing = find_batteries(tree)
    assert isinstance(listing, Value)
    return listing.value


def test_a_worn_pack_is_read_whole() -> None:
    pack = read_pack()
    assert pack.place == f"{ACPI_PACK}/BAT0"
    assert (pack.label, pack.position) == ("BAT0", Position.INTERNAL)
    assert values_of(pack) == {
        "present": True,
        "status": "Charging",
        "manufacturer": "Norvik Cells",
        "model": "NV-3S45",
        "serial": "40718",
        "technology": "Li-ion",
        "cycle_count": 212,
        "energy_full_uwh": 38_000_000,
        "energy_full_design_uwh": 45_000_000,
        "energy_now_uwh": 20_000_000,
        "capacity_percent": 52,
        "health_percent": 84,
        "voltage_now_uv": 11_900_000,
        "voltage_min_design_uv": 11_400_000,
    }


def test_a_pack_that_reports_energy_has_no_charge_and_says_why() -> None:
    pack = read_pack()
    for reading in (pack.charge_full_uah, pack.charge_full_design_uah, pack.charge_now_uah):
        assert isinstance(reading, Absent)
        assert reading.reason == "the pack reports energy"


def test_a_pack_that_reports_charge_is_judged_by_charge_alone() -> None:
    pack = read_battery(drawn_supplies(BAT1=CHARGE_PACK), f"{ACPI_PACK}/BAT1")
    assert isinstance(pack.health_percent, Value)
    assert pack.health_percent.value == 103
    assert all("charge_full" in source for source in pack.health_percent.sources)
    assert isinstance(pack.energy_full_uwh, Absent)
    assert pack.energy_full_uwh.reason == "the pack reports charge"


def test_units_are_never_mixed() -> None:
    """Full in one unit and design in the other give no health."""
    mixed: dict[str, Content] = {
        "type": b"Battery\n",
        "energy_full": b"38000000\n",
        "charge_full_design": b"4000000\n",
    }
    pack = read_battery(drawn_supplies(BAT0=mixed), f"{ACPI_PACK}/BAT0")
    assert isinstance(pack.health_percent, Absent)
    assert pack.health_percent.sources == (f"{ACPI_PACK}/BAT0/energy_full_design",)


def test_the_unit_whose_pair_is_whole_gives_the_health() -> None:
    both: dict[str, Content] = {**ENERGY_PACK, **CHARGE_PACK, "energy_full_design": errno.ENODEV}
    pack = read_battery(drawn_supplies(BAT0=both), f"{ACPI_PACK}/BAT0")
    assert isinstance(pack.health_percent, Value)
    assert pack.health_percent.value == 103
    assert isinstance(pack.energy_full_uwh, Value)


@given(microwatt_hours, st.integers(min_value=0, max_value=200))
def test_health_is_never_above_the_true_share(design: int, percent: int) -> None:
    full = design * percent // 100
    pack = read_pack({"energy_full": b"%d\n" % full, "energy_full_design": b"%d\n" % design})
    assert isinstance(pack.health_percent, Value)
    assert (
        pack.health_percent.value * design <= 100 * full < (pack.health_percent.value + 1) * design
    )


@pytest.mark.parametrize(
    ("full", "design"),
    [
        (b"38000000", b"0"),
        (b"38000000", b"-45000000"),
        (b"-1", b"45000000"),
        (b"38000000", b"1000000000"),
        (b"9223372036854775808", b"45000000"),
        (b"45000000", b"4500000"),
    ],
)
def test_nonsense_is_kept_and_gives_no_health(full: bytes, design: bytes) -> None:
    pack = read_pack({"energy_full": full + b"\n", "energy_full_design": design + b"\n"})
    assert isinstance(pack.health_percent, Unreadable)
    assert pack.health_percent.error == "MALFORMED"
    assert isinstance(pack.energy_full_uwh, Value)
    assert pack.energy_full_uwh.value == int(full)
    assert isinstance(pack.energy_full_design_uwh, Value)
    assert pack.energy_full_design_uwh.value == int(design)


def test_a_dead_pack_has_a_health_of_zero() -> None:
    pack = read_pack({"energy_full": b"0\n"})
    assert isinstance(pack.health_percent, Value)
    assert pack.health_percent.value == 0


@pytest.mark.parametrize("text", [b"0\n", b"-1\n"])
def test_a_cycle_count_that_says_nothing_is_no_number(text: bytes) -> None:
    """Documentation/ABI/testing/sysfs-class-power: 0 is "not available"; FFFFFFFFh is unknown."""
    assert isinstance(read_pack({"cycle_count": text}).cycle_count, Absent)


def test_text_of_the_firmware_is_sorted() -> None:
    pack = read_pack(
        {
            "manufacturer": b"\n",
            "model_name": b"To Be Filled By O.E.M.\n",
            "serial_number": b" \n",
            "technology": b"Unknown\n",
            "status": b"Unknown\n",
        }
    )
    assert isinstance(pack.manufacturer, Blank)
    assert isinstance(pack.model, Filler)
    assert pack.model.text == "To Be Filled By O.E.M."
    assert isinstance(pack.serial, Blank)
    assert isinstance(pack.technology, Absent)
    assert isinstance(pack.status, Absent)


@pytest.mark.parametrize(
    ("number", "error"),
    [
        (errno.ENODEV, "ENODEV"),
        (errno.EIO, "EIO"),
        (errno.EACCES, "EACCES"),
        (errno.EINVAL, "EINVAL"),
        (errno.ENODATA, "ENODATA"),
    ],
)
def test_what_cannot_be_read_says_so(number: int, error: str) -> None:
    pack = read_pack({"energy_full": number, "serial_number": number, "present": number})
    for reading in (pack.energy_full_uwh, pack.health_percent, pack.serial, pack.present):
        assert isinstance(reading, Unreadable)
        assert reading.error == error
        assert reading.advice


def test_an_empty_bay_has_no_readings_but_that_it_is_empty() -> None:
    tree = drawn_supplies(BAT0=ENERGY_PACK, BAT1={**ENERGY_PACK, **EMPTY_BAY})
    assert found(tree) == (f"{ACPI_PACK}/BAT0", f"{ACPI_PACK}/BAT1")
    bay = read_battery(tree, f"{ACPI_PACK}/BAT1")
    assert bay.present == Value(value=False, sources=(f"{ACPI_PACK}/BAT1/present",))
    for name in attributes_of(Battery):
        if name != "present":
            reading = getattr(bay, name)
            assert isinstance(reading, Absent)
            assert reading.reason == "no pack is in this bay"


def test_packs_of_the_unit_alone_are_found() -> None:
    mouse: dict[str, Content] = {**ENERGY_PACK, "scope": b"Device\n"}
    inside: dict[str, Content] = {**CHARGE_PACK, "scope": b"System\n"}
    tree = drawn_supplies(AC=MAINS, BAT0=ENERGY_PACK, BAT1=inside, hid_mouse=mouse)
    assert found(tree) == (f"{ACPI_PACK}/BAT0", f"{ACPI_PACK}/BAT1")


def test_a_class_without_supplies_is_not_a_missing_class() -> None:
    assert found(drawn_supplies()) == ()
    assert isinstance(find_batteries(DrawnTree(folders=("sys/class/net",))), Absent)
    assert isinstance(find_batteries(DrawnTree(files={CLASS: errno.EIO})), Unreadable)


@pytest.mark.parametrize("unread", ["type", "scope"])
def test_a_supply_that_does_not_tell_what_it_is_may_be_a_pack(unread: str) -> None:
    tree = drawn_supplies(BAT0=ENERGY_PACK, BAT1={**ENERGY_PACK, unread: errno.EIO})
    listing = find_batteries(tree)
    assert isinstance(listing, Unreadable)
    assert listing.sources == (f"{ACPI_PACK}/BAT1/{unread}",)


def test_a_supply_without_any_type_is_not_skipped_in_silence() -> None:
    listing = find_batteries(drawn_supplies(BAT0={"present": b"1\n"}))
    assert isinstance(listing, Unreadable)
    assert "does not tell its type" in listing.advice


def test_a_folder_without_links_is_read_as_it_is() -> None:
    files = {f"{CLASS}/BAT0/{name}": content for name, content in ENERGY_PACK.items()}
    tree = DrawnTree(files=files)
    assert found(tree) == (f"{CLASS}/BAT0",)
    health = read_battery(tree, f"{CLASS}/BAT0").health_percent
    assert isinstance(health, Value)
    assert health.value == 84


def test_a_folder_with_a_uevent_alone_is_read_from_it() -> None:
    uevent = b"".join(
        b"POWER_SUPPLY_" + name.upper().encode() + b"=" + content
        for name, content in ENERGY_PACK.items()
        if isinstance(content, bytes)
    )
    tree = drawn_supplies(BAT0={"uevent": uevent})
    assert found(tree) == (f"{ACPI_PACK}/BAT0",)
    pack = read_battery(tree, f"{ACPI_PACK}/BAT0")
    assert pack.health_percent == Value(value=84, sources=(f"{ACPI_PACK}/BAT0/uevent",) * 2)
    assert isinstance(pack.charge_full_uah, Absent)


def test_a_pack_behind_a_usb_port_is_outside() -> None:
    place = "sys/devices/pci0000:00/0000:00:14.0/usb1/1-2/1-2:1.0/power_supply/dock"
    files = {f"{place}/{name}": content for name, content in CHARGE_PACK.items()}
    port = {"sys/devices/pci0000:00/0000:00:14.0/usb1/1-2/removable": b"removable\n"}
    pack = read_battery(DrawnTree(files={**files, **port}), place)
    assert pack.position is Position.EXTERNAL


def test_the_list_names_packs_adapters_and_what_peripherals_have() -> None:
    assert [reader.kind for reader in READERS] == ["battery", "adapter", "peripheral_battery"]
