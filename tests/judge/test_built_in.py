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
