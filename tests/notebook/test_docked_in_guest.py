"""A notebook on a dock, with a hub, a stick and a part without a driver, as its kernel shows it.

Started cold: the emulated adapter cannot be part of a snapshot.
"""

import json
from collections.abc import Iterator
from typing import Any

import pytest

from notebook.description import load_notebook
from notebook.image import Image
from notebook.machine import Machine, started
from notebook.opinions import ORDINARY_USER
from notebook.shown import Shown

pytestmark = pytest.mark.notebook

NAME = "osier-15-docked"
BOARD = load_notebook("osier-15").wired
PATIENCE = 120.0


@pytest.fixture(scope="module")
def docked(image: Image) -> Iterator[Machine]:
    with started(load_notebook(NAME), image) as machine:
        yield machine


def inventory(machine: Machine, user: str) -> dict[str, Any]:
    ran = machine.session.run("closeout", "show", "--json", user=user, seconds=PATIENCE)
    assert ran.err == b""
    told: dict[str, Any] = json.loads(ran.out)["inventory"]
    return told


@pytest.mark.parametrize("user", ["root", ORDINARY_USER])
def test_the_dock_takes_on_the_address_of_the_board(docked: Machine, user: str) -> None:
    assert BOARD
    told = inventory(docked, user)
    shown = Shown(told)
    addresses = shown.only("addresses").values
    positions = {one["label"]: one["position"] for one in told["wired_network"]["devices"]}
    assert sorted(positions.values()) == ["external", "internal"]
    assert addresses["duplicates"] == ()
    (passed,) = addresses["passed_through"]
    assert passed.endswith(f"'{BOARD.address}'")
    own = [one for one in shown.devices("wired_network") if "/usb" not in one.place]
    assert [one.values["mac"] for one in own] == [BOARD.address]


def test_hub_and_stick_are_in_sockets_and_the_hub_has_ports_of_its_own(docked: Machine) -> None:
    told = inventory(docked, "root")
    ports = {one["label"]: one["position"] for one in told["usb_port"]["devices"]}
    assert ports["usb1-port1"] == "internal"
    assert ports["1-1-port1"] == "external"
    plugged = Shown(told).device("usb_port", "usb2-port3").values
    assert (plugged["device"], plugged["connect_type"]) == ("2-3", "hotplug")
    stick = Shown(told).device("usb_device", "2-3").values
    assert stick["below_ability"] is False


def test_a_part_without_a_driver_is_shown_by_its_id(docked: Machine) -> None:
    told = Shown(inventory(docked, "root")).device("bus_device", "QMKS0001:00").values
    assert told["ids"] == ("QMKS0001",)
    assert told["driver"] is None
    assert told["firmware_path"] == "\\_SB_.UND0"


def test_iw_and_ethtool_say_the_same(docked: Machine) -> None:
    shown = Shown(inventory(docked, ORDINARY_USER))
    rules = docked.session.run("iw", "reg", "get").text
    assert f"country {shown.only('regulatory').values['country']}:" in rules
    for port in shown.devices("wired_network"):
        said = docked.session.run("ethtool", "-P", port.label).text
        assert said.strip() == f"Permanent address: {port.values['mac']}"
