"""Wired ports as the kernel shows them; names and ids are invented."""

import errno

import pytest

from closeout.model.device import Position
from closeout.model.network import WiredNetwork
from closeout.model.reading import Absent, Unreadable, Value
from closeout.readers.wired_network import find_ports, read_port
from strategies.drawn_tree import Content, DrawnTree
from strategies.shown import value_of, values_of

CARD = "sys/devices/pci0000:00/0000:00:1f.6"
PORT = f"{CARD}/net/enp0s31f6"
DOCK = "sys/devices/pci0000:00/0000:00:14.0/usb2/2-3/2-3.1"
ADAPTER = f"{DOCK}/2-3.1:1.0/net/enx3c5282aa0001"
RADIO = "sys/devices/pci0000:00/0000:02:00.0/net/wlp2s0"
OWN = "3c:52:82:aa:00:01"
TOLD = b"3c:52:82:aa:00:01\n"

FILES: dict[str, Content] = {
    f"{CARD}/uevent": b"DRIVER=norvik_eth\nPCI_ID=1AF9:15BE\n",
    f"{PORT}/uevent": b"INTERFACE=enp0s31f6\nIFINDEX=2\n",
    f"{PORT}/type": b"1\n",
    f"{PORT}/address": b"3C:52:82:aa:00:01\n",
    f"{PORT}/addr_assign_type": b"0\n",
    f"{PORT}/operstate": b"up\n",
    f"{PORT}/carrier": b"1\n",
    f"{PORT}/speed": b"1000\n",
    f"{PORT}/duplex": b"full\n",
    f"{ADAPTER}/uevent": b"INTERFACE=enx3c5282aa0001\n",
    f"{ADAPTER}/type": b"1\n",
    f"{DOCK}/removable": b"removable\n",
    f"{RADIO}/uevent": b"DEVTYPE=wlan\nINTERFACE=wlp2s0\n",
    f"{RADIO}/type": b"1\n",
    "sys/devices/virtual/net/lo/type": b"772\n",
}
LINKS = {
    "sys/class/net/enp0s31f6": PORT,
    "sys/class/net/enx3c5282aa0001": ADAPTER,
    "sys/class/net/lo": "sys/devices/virtual/net/lo",
    "sys/class/net/wlp2s0": RADIO,
    f"{PORT}/device": CARD,
    f"{ADAPTER}/device": f"{DOCK}/2-3.1:1.0",
    f"{RADIO}/device": "sys/devices/pci0000:00/0000:02:00.0",
    f"{CARD}/driver": "sys/bus/pci/drivers/norvik_eth",
}
ASKED = "net permanent-address enp0s31f6"


def drawn(answer: Content | None = TOLD, **changes: Content) -> DrawnTree:
    files = {**FILES, **{f"{PORT}/{name}": content for name, content in changes.items()}}
    return DrawnTree(files=files, links=LINKS, answers={} if answer is None else {ASKED: answer})


def port(answer: Content | None = TOLD, **changes: Content) -> WiredNetwork:
    return read_port(drawn(answer, **changes), PORT)


def test_what_has_hardware_and_is_no_radio_is_a_wired_port() -> None:
    assert value_of(find_ports(drawn())) == (PORT, ADAPTER)
    assert read_port(drawn(), ADAPTER).position is Position.EXTERNAL


def test_a_port_is_read_whole() -> None:
    found = port()
    assert (found.label, found.position) == ("enp0s31f6", Position.INTERNAL)
    assert values_of(found) == {
        "interface": "enp0s31f6",
        "driver": "norvik_eth",
        "bus_id": "1af9:15be",
        "mac": OWN,
        "mac_sound": "universal",
        "current_mac": OWN,
        "current_mac_origin": "permanent",
        "carrier": True,
        "state": "up",
        "speed_mbit": 1000,
        "duplex": "full",
    }


def test_while_it_is_down_the_link_is_not_told_which_is_no_fault() -> None:
    found = port(operstate=b"down\n", carrier=errno.EINVAL, speed=errno.EINVAL, duplex=errno.EINVAL)
    for reading in (found.carrier, found.speed_mbit, found.duplex):
        assert isinstance(reading, Absent)
        assert "is down" in reading.reason
    refused = port(carrier=errno.EACCES)
    assert isinstance(refused.carrier, Unreadable)


@pytest.mark.parametrize("speed", [b"-1\n", b"4294967295\n"])
def test_a_speed_that_stands_for_no_link_is_no_number(speed: bytes) -> None:
    found = port(speed=speed, duplex=b"unknown\n", carrier=b"0\n")
    assert found.carrier == Value(value=False, sources=(f"{PORT}/carrier",))
    assert isinstance(found.speed_mbit, Absent)
    assert isinstance(found.duplex, Absent)


@pytest.mark.parametrize(
    ("answer", "assigned", "mac"),
    [
        (b"3c:52:82:aa:00:09\n", b"3\n", "3c:52:82:aa:00:09"),
        (None, b"0\n", OWN),
        (b"00:00:00:00:00:00\n", b"0\n", OWN),
    ],
)
def test_the_permanent_address_is_asked_for_first(
    answer: bytes | None, assigned: bytes, mac: str
) -> None:
    assert value_of(port(answer, addr_assign_type=assigned).mac) == mac


@pytest.mark.parametrize(
    ("answer", "state"), [(b"00:00:00:00:00:00\n", Absent), (None, Unreadable)]
)
def test_an_address_that_was_set_says_nothing_of_the_permanent_one(
    answer: bytes | None, state: type
) -> None:
    found = port(answer, addr_assign_type=b"3\n")
    assert isinstance(found.mac, state)
    assert isinstance(found.mac_sound, state)
    assert value_of(found.current_mac) == OWN
    assert value_of(found.current_mac_origin) == "set"


def test_a_placeholder_is_told_by_its_form() -> None:
    assert "not programmed" in value_of(port(b"00:11:22:33:44:55\n").mac_sound)


@pytest.mark.parametrize(
    ("path", "answer"),
    [
        ("sys/class/net", errno.EACCES),
        (f"{PORT}/uevent", errno.EACCES),
        (f"{PORT}/type", errno.EIO),
    ],
)
def test_a_listing_that_cannot_be_told_is_not_an_empty_one(path: str, answer: int) -> None:
    tree = DrawnTree(files={**FILES, path: answer}, links=LINKS)
    assert isinstance(find_ports(tree), Unreadable)


def test_a_type_that_is_blank_is_not_understood() -> None:
    listing = find_ports(drawn(type=b"\n"))
    assert isinstance(listing, Unreadable)
    assert listing.error == "MALFORMED"


def test_in_a_copy_without_links_the_folder_of_the_device_counts() -> None:
    files: dict[str, Content] = {
        "sys/class/net/eth0/device/vendor": b"0x1af9\n",
        "sys/class/net/eth0/uevent": b"INTERFACE=eth0\n",
        "sys/class/net/eth0/type": b"1\n",
        "sys/class/net/lo/type": b"772\n",
    }
    assert value_of(find_ports(DrawnTree(files=files))) == ("sys/class/net/eth0",)
