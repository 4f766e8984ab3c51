"""Type-C ports as the kernel shows them (Documentation/ABI/testing/sysfs-class-typec)."""

import errno

import pytest

from closeout.model.device import Position
from closeout.model.ports import TypeCPort
from closeout.model.reading import Absent, Unreadable
from closeout.readers.type_c_ports import find_ports, read_port
from strategies.drawn_tree import Content, DrawnTree
from strategies.shown import value_of, values_of

PORT = "sys/devices/platform/USBC000:00/typec/port0"
FILES: dict[str, Content] = {
    f"{PORT}/port_type": b"[dual] source sink\n",
    f"{PORT}/data_role": b"host [device]\n",
    f"{PORT}/power_role": b"source [sink]\n",
    f"{PORT}/power_operation_mode": b"usb_power_delivery\n",
    f"{PORT}/orientation": b"reverse\n",
    f"{PORT}/usb_power_delivery_revision": b"3.0\n",
    f"{PORT}/port0-partner/accessory_mode": b"none\n",
    f"{PORT}/port0-cable/type": b"passive\n",
}
LINKS = {
    "sys/class/typec/port0": PORT,
    "sys/class/typec/port0-partner": f"{PORT}/port0-partner",
    "sys/class/typec/port0-cable": f"{PORT}/port0-cable",
}


def port(without: str = "nothing", **changes: Content) -> TypeCPort:
    files = {path: text for path, text in FILES.items() if without not in path}
    files |= {f"{PORT}/{name}": content for name, content in changes.items()}
    return read_port(DrawnTree(files=files, links=LINKS), PORT)


def test_a_port_with_a_charger_is_read_whole() -> None:
    assert value_of(find_ports(DrawnTree(files=FILES, links=LINKS))) == (PORT,)
    found = port()
    assert (found.label, found.position) == ("port0", Position.INTERNAL)
    assert values_of(found) == {
        "port_type": "dual",
        "data_role": "device",
        "power_role": "sink",
        "operation_mode": "usb_power_delivery",
        "orientation": "reverse",
        "delivery_revision": "3.0",
        "partner": True,
        "accessory": "none",
        "cable": True,
    }


def test_an_empty_port_is_told_apart_from_one_that_could_not_be_looked_into() -> None:
    empty = port(without="/port0-")
    assert value_of(empty.partner) is False
    assert value_of(empty.cable) is False
    assert isinstance(empty.accessory, Absent)
    denied = read_port(DrawnTree(files={PORT: errno.EACCES}), PORT)
    assert isinstance(denied.partner, Unreadable)


@pytest.mark.parametrize("role", [b"host device\n", b"[host] [device]\n", b"[host\n"])
def test_a_role_that_is_not_chosen_is_not_understood(role: bytes) -> None:
    reading = port(data_role=role).data_role
    assert isinstance(reading, Unreadable)
    assert reading.error == "MALFORMED"


def test_a_port_without_power_delivery_has_no_revision_of_it() -> None:
    reading = port(usb_power_delivery_revision=b"0.0\n").delivery_revision
    assert isinstance(reading, Absent)
    assert "no Power Delivery" in reading.reason


def test_an_empty_class_is_no_port_and_an_unreadable_one_is_not() -> None:
    assert value_of(find_ports(DrawnTree(folders=("sys/class/net",)))) == ()
    assert value_of(find_ports(DrawnTree(folders=("sys/class/typec",)))) == ()
    assert isinstance(find_ports(DrawnTree(files={"sys/class/typec": errno.EIO})), Unreadable)
