"""Routers as the kernel shows them (Documentation/ABI/testing/sysfs-bus-thunderbolt)."""

import errno

import pytest

from closeout.model.device import Position
from closeout.model.reading import Unreadable
from closeout.readers.thunderbolt import find_routers, read_router
from strategies.drawn_tree import Content, DrawnTree
from strategies.shown import value_of, values_of

DOMAIN = "sys/devices/pci0000:00/0000:00:0d.2/domain0"
OWN = f"{DOMAIN}/0-0"
DOCK = f"{OWN}/0-1"
FILES: dict[str, Content] = {
    f"{DOMAIN}/security": b"user\n",
    f"{OWN}/authorized": b"1\n",
    f"{OWN}/generation": b"4\n",
    f"{OWN}/vendor": b"0x1af9\n",
    f"{OWN}/device": b"0x7\n",
    f"{OWN}/vendor_name": b"Northlake\n",
    f"{OWN}/device_name": b"Fen 14\n",
    f"{OWN}/nvm_version": b"31.4\n",
    f"{OWN}/unique_id": b"d8030000-0070-6f18-83a5-21a8e1a1c123\n",
    f"{DOCK}/authorized": b"0\n",
    f"{DOCK}/0-1.0/key": b"network\n",
}
NAMES = {
    "domain0": DOMAIN,
    "0-0": OWN,
    "0-1": DOCK,
    "0-1.0": f"{DOCK}/0-1.0",
    "0-0:1.1": f"{OWN}/usb4_port1/0-0:1.1",
}
LINKS = {f"sys/bus/thunderbolt/devices/{name}": place for name, place in NAMES.items()}
TREE = DrawnTree(files=FILES, links=LINKS)


def test_routers_are_listed_and_domains_services_and_retimers_are_not() -> None:
    assert value_of(find_routers(TREE)) == (OWN, DOCK)


def test_the_units_own_router_is_read_whole() -> None:
    found = read_router(TREE, OWN)
    assert (found.label, found.position) == ("0-0", Position.INTERNAL)
    assert values_of(found) == {
        "security": "user",
        "authorised": True,
        "generation": 4,
        "ids": "1af9:0007",
        "vendor_name": "Northlake",
        "device_name": "Fen 14",
        "firmware": "31.4",
        "unique_id": "d8030000-0070-6f18-83a5-21a8e1a1c123",
    }


def test_a_dock_is_outside_and_may_not_be_let_in() -> None:
    found = read_router(TREE, DOCK)
    assert found.position is Position.EXTERNAL
    assert values_of(found) == {"security": "user", "authorised": False}


@pytest.mark.parametrize("told", [b"3\n", b"yes\n"])
def test_an_authorisation_of_another_kind_is_not_understood(told: bytes) -> None:
    tree = DrawnTree(files={**FILES, f"{OWN}/authorized": told}, links=LINKS)
    assert isinstance(read_router(tree, OWN).authorised, Unreadable)


def test_without_the_bus_there_is_none_and_an_unreadable_one_is_not_none() -> None:
    assert value_of(find_routers(DrawnTree(folders=("sys/class/net",)))) == ()
    for path in ("sys/bus/thunderbolt", "sys/bus/thunderbolt/devices"):
        tree = DrawnTree(files={**FILES, path: errno.EACCES}, links=LINKS)
        assert isinstance(find_routers(tree), Unreadable)
