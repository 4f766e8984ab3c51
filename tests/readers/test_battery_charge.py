"""Charge thresholds, and why a pack on mains takes no charge."""

import errno

import pytest

from closeout.model.battery import Battery
from closeout.model.reading import Absent, Unreadable
from closeout.readers.battery import read_battery
from strategies.drawn_tree import Content
from strategies.power_supply import ACPI_PACK, ENERGY_PACK, MAINS, drawn_supplies
from strategies.shown import value_of

HELD: dict[str, Content] = {**ENERGY_PACK, "status": b"Not charging\n", "capacity": b"80\n"}
OFFLINE: dict[str, Content] = {**MAINS, "online": b"0\n"}


def pack(adapter: dict[str, Content] | None = None, **changes: Content) -> Battery:
    supplies = {"AC": {**MAINS, **(adapter or {})}, "BAT0": {**HELD, **changes}}
    return read_battery(drawn_supplies(**supplies), f"{ACPI_PACK}/BAT0")


def test_what_can_be_set_is_told() -> None:
    told = pack(
        charge_control_start_threshold=b"75\n",
        charge_control_end_threshold=b"80\n",
        charge_behaviour=b"[auto] inhibit-charge force-discharge\n",
        charge_types=b"Fast Standard [Long Life] Custom\n",
        capacity_level=b"High\n",
        temp=b"284\n",
    )
    assert value_of(told.charge_start_percent) == 75
    assert value_of(told.charge_end_percent) == 80
    assert value_of(told.charge_behaviour) == "auto"
    assert value_of(told.charge_type) == "Long Life"
    assert value_of(told.capacity_level) == "High"
    assert value_of(told.temperature_millicelsius) == 28_400


def test_an_older_kernel_tells_the_way_of_charging_alone() -> None:
    assert value_of(pack(charge_type=b"Trickle\n").charge_type) == "Trickle"
    assert isinstance(pack(charge_type=b"Unknown\n").charge_type, Absent)
    assert isinstance(pack().charge_type, Absent)


@pytest.mark.parametrize("content", [b"101\n", b"-1\n", b"80 %\n"])
def test_a_threshold_is_a_percentage(content: bytes) -> None:
    told = pack(charge_control_end_threshold=content)
    assert isinstance(told.charge_end_percent, Unreadable)
    assert told.charge_end_percent.error == "MALFORMED"


def test_cells_at_absolute_zero_have_no_temperature() -> None:
    assert isinstance(pack(temp=b"-2731\n").temperature_millicelsius, Absent)


@pytest.mark.parametrize(
    ("files", "why"),
    [
        (
            {"charge_control_end_threshold": b"80\n"},
            "at 80 % it has reached its limit of 80 %",
        ),
        (
            {"charge_control_start_threshold": b"75\n", "charge_control_end_threshold": b"90\n"},
            "at 80 % it is not below 75 %, where charging begins",
        ),
        (
            {"charge_behaviour": b"auto [inhibit-charge]\n"},
            "the system asks for it: inhibit-charge",
        ),
        (
            {"status": b"Discharging\n", "charge_behaviour": b"auto [force-discharge]\n"},
            "the system asks for it: force-discharge",
        ),
    ],
)
def test_a_limit_explains_a_pack_at_rest(files: dict[str, Content], why: str) -> None:
    assert value_of(pack(**files).charge_held) == why


@pytest.mark.parametrize(
    "files",
    [
        {},
        {"charge_control_end_threshold": b"100\n", "charge_control_start_threshold": b"95\n"},
        {"charge_control_end_threshold": errno.EIO},
        {"capacity": errno.ENODEV, "charge_control_end_threshold": b"80\n"},
    ],
)
def test_without_a_limit_reached_nothing_explains_it(files: dict[str, Content]) -> None:
    assert value_of(pack(**files).charge_held).startswith("no limit explains it")


@pytest.mark.parametrize("status", [b"Charging\n", b"Full\n"])
def test_a_pack_that_charges_or_is_full_is_not_held(status: bytes) -> None:
    held = pack(status=status).charge_held
    assert isinstance(held, Absent)
    assert held.reason == f"the pack is {status.decode().strip()}"


def test_without_an_adapter_nothing_holds_it() -> None:
    held = pack(adapter=OFFLINE, status=b"Discharging\n").charge_held
    assert isinstance(held, Absent)
    assert held.reason == "no adapter feeds the unit"


def test_an_adapter_that_gives_no_answer_leaves_it_open() -> None:
    assert isinstance(pack(adapter={"online": errno.EIO}).charge_held, Unreadable)
    assert isinstance(pack(adapter={"type": errno.EIO}).charge_held, Unreadable)


def test_one_adapter_that_feeds_is_enough() -> None:
    supplies: dict[str, dict[str, Content]] = {
        "AC": {**MAINS, "online": errno.EIO},
        "usb": {"type": b"USB\n", "online": b"1\n"},
        "BAT0": HELD,
    }
    told = read_battery(drawn_supplies(**supplies), f"{ACPI_PACK}/BAT0")
    assert value_of(told.charge_held).startswith("no limit explains it")


def test_without_any_adapter_nobody_knows() -> None:
    told = read_battery(drawn_supplies(BAT0=HELD), f"{ACPI_PACK}/BAT0")
    assert isinstance(told.charge_held, Absent)
    assert told.charge_held.reason == "no adapter tells whether it feeds the unit"


@pytest.mark.parametrize(("content", "kind"), [(b"Unknown\n", Absent), (errno.EIO, Unreadable)])
def test_a_pack_without_a_status_is_not_held(content: Content, kind: type) -> None:
    assert isinstance(pack(status=content).charge_held, kind)


def test_two_packs_are_told_apart_by_their_places() -> None:
    supplies = {"BAT0": HELD, "BAT1": {**HELD, "serial_number": b"40719\n"}}
    tree = drawn_supplies(**supplies)
    packs = [read_battery(tree, f"{ACPI_PACK}/{name}") for name in supplies]
    assert len({one.place for one in packs}) == 2
    assert [value_of(one.serial) for one in packs] == ["40718", "40719"]
