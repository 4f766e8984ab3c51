"""USB ports as the kernel shows them (Documentation/ABI/testing/sysfs-bus-usb)."""

import errno

import pytest

from closeout.model.device import Position
from closeout.model.ports import UsbPort
from closeout.model.reading import Absent, Unreadable
from closeout.readers.usb_ports import find_ports, read_port
from strategies.drawn_tree import Content, DrawnTree
from strategies.shown import value_of, values_of

XHCI = "sys/devices/pci0000:00/0000:00:14.0"
SLOW, FAST = f"{XHCI}/usb1/1-0:1.0", f"{XHCI}/usb2/2-0:1.0"
PORT = f"{SLOW}/usb1-port3"
PEER = f"{FAST}/usb2-port3"
HUB = f"{XHCI}/usb1/1-3"
BEHIND = f"{HUB}/1-3:1.0/1-3-port2"

FILES: dict[str, Content] = {
    f"{PORT}/connect_type": b"hotplug\n",
    f"{PORT}/location": b"0x80000003\n",
    f"{PORT}/over_current_count": b"0\n",
    f"{PORT}/state": b"configured\n",
    f"{PORT}/disable": b"0\n",
    f"{PEER}/connect_type": b"hotplug\n",
    f"{HUB}/removable": b"removable\n",
    f"{BEHIND}/connect_type": b"unknown\n",
    f"{BEHIND}/location": b"0x00000000\n",
    f"{BEHIND}/over_current_count": b"2\n",
    f"{HUB}/1-3:1.1/bInterfaceClass": b"03\n",
}
LINKS = {
    "sys/bus/usb/devices/usb1": f"{XHCI}/usb1",
    "sys/bus/usb/devices/1-0:1.0": SLOW,
    "sys/bus/usb/devices/2-0:1.0": FAST,
    "sys/bus/usb/devices/1-3": HUB,
    "sys/bus/usb/devices/1-3:1.0": f"{HUB}/1-3:1.0",
    "sys/bus/usb/devices/1-3:1.1": f"{HUB}/1-3:1.1",
    f"{PORT}/peer": PEER,
    f"{PORT}/device": HUB,
}
TREE = DrawnTree(files=FILES, links=LINKS)


def port(place: str = PORT, **changes: Content) -> UsbPort:
    files = {**FILES, **{f"{place}/{name}": content for name, content in changes.items()}}
    return read_port(DrawnTree(files=files, links=LINKS), place)


def test_the_ports_of_every_hub_are_listed() -> None:
    assert value_of(find_ports(TREE)) == (PORT, BEHIND, PEER)


def test_a_port_is_read_whole() -> None:
    found = port()
    assert (found.label, found.position) == ("usb1-port3", Position.INTERNAL)
    assert values_of(found) == {
        "connect_type": "hotplug",
        "device": "1-3",
        "state": "configured",
        "peer": "usb2-port3",
        "location": "0x80000003",
        "over_current_count": 0,
        "disabled": False,
    }


def test_the_port_of_a_hub_is_where_the_hub_is_and_tells_what_it_knows() -> None:
    found = port(BEHIND)
    assert found.position is Position.EXTERNAL
    assert values_of(found) == {"over_current_count": 2}
    assert isinstance(found.device, Absent)
    assert "nothing is plugged in" in found.device.reason
    assert isinstance(found.location, Absent)
    assert isinstance(found.connect_type, Absent)


def test_an_attribute_that_fails_is_unreadable() -> None:
    assert isinstance(port(over_current_count=errno.EIO).over_current_count, Unreadable)
    assert isinstance(port(connect_type=errno.EACCES).connect_type, Unreadable)


@pytest.mark.parametrize("path", ["sys/bus/usb", "sys/bus/usb/devices", SLOW, f"{HUB}/1-3:1.0"])
def test_a_hub_that_cannot_be_listed_leaves_the_ports_open(path: str) -> None:
    tree = DrawnTree(files={**FILES, path: errno.EACCES}, links=LINKS)
    assert isinstance(find_ports(tree), Unreadable)


def test_a_hub_that_went_away_has_no_ports() -> None:
    gone = DrawnTree(links={"sys/bus/usb/devices/1-0:1.0": SLOW})
    assert value_of(find_ports(gone)) == ()


def test_without_the_bus_there_is_no_port() -> None:
    assert value_of(find_ports(DrawnTree(folders=("sys/class/net",)))) == ()
