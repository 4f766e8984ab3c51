"""What a profile names as built in is inside, and nothing else changes."""

import pytest

from closeout.judge.built_in import place_built_in
from closeout.model.built_in import BuiltIn
from closeout.model.device import Device, Position
from strategies.devices import BLANK, DENIED, device, inventory

OUTSIDE = Position.EXTERNAL


def positions_of(built_in: BuiltIn, *devices: Device) -> list[Position]:
    placed = place_built_in(inventory(*devices), built_in)
    return [found.position for section in placed.sections for found in section.devices]


def test_named_connector_is_inside() -> None:
    screen = device("display", position=OUTSIDE, connector="DP-1")
    socket = device("display", place="other", position=OUTSIDE, connector="DP-2")
    found = positions_of(BuiltIn(connectors=("DP-1", "DSI-9")), screen, socket)
    assert found == [Position.INTERNAL, OUTSIDE]


@pytest.mark.parametrize("connector", [BLANK, DENIED])
def test_connector_without_a_name_stays_where_it_is(connector: object) -> None:
    screen = device("display", position=OUTSIDE, connector=connector)
    assert positions_of(BuiltIn(connectors=("DP-1",)), screen) == [OUTSIDE]


def test_other_kinds_and_profiles_without_names_change_nothing() -> None:
    stick = device("usb_device", position=OUTSIDE, vendor_name="DP-1")
    whole = inventory(stick, device("display", position=OUTSIDE, connector="DP-1"))
    assert place_built_in(whole, BuiltIn()) == whole
    assert positions_of(BuiltIn(connectors=("DP-1",)), stick) == [OUTSIDE]


DOCK = "sys/devices/pci0000:00/0000:00:14.0/usb1/1-4"


def dock(ids: object = "fe41:0101", place: str = DOCK) -> Device:
    return device("usb_device", place=place, position=OUTSIDE, ids=ids)


def keys(place: str) -> Device:
    return device("keyboard", place=f"{place}/1-4:1.0/input/input7", position=OUTSIDE)


@pytest.mark.parametrize("built_in", [BuiltIn(usb_ports=("1-4",)), BuiltIn(usb_ids=("fe41:0101",))])
def test_keyboard_dock_that_is_named_is_inside_with_all_behind_it(built_in: BuiltIn) -> None:
    nested = dock("fe41:0102", place=f"{DOCK}/1-4.2")
    assert positions_of(built_in, keys(DOCK), dock(), nested) == [Position.INTERNAL] * 3


def test_keyboard_on_another_port_stays_outside() -> None:
    """1-40 begins like 1-4 and is another port."""
    other = DOCK + "0"
    named = BuiltIn(usb_ports=("1-4",), usb_ids=("fe41:0109",))
    assert positions_of(named, keys(other), dock(place=other)) == [OUTSIDE] * 2


@pytest.mark.parametrize("ids", [BLANK, DENIED, "fe41:0102"])
def test_dock_with_other_ids_or_none_stays_outside(ids: object) -> None:
    assert positions_of(BuiltIn(usb_ids=("fe41:0101",)), keys(DOCK), dock(ids)) == [OUTSIDE] * 2
