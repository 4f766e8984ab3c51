"""Inside or outside, by what ports say (kernel files `removable` and `connect_type`)."""

import errno

import pytest

from closeout.model.device import Position
from closeout.readers.places import label_of, locate, read_position
from strategies.drawn_tree import Content, DrawnTree

XHCI = "sys/devices/pci0000:00/0000:00:14.0"
HUB = f"{XHCI}/usb1/1-4"
BEHIND_HUB = f"{HUB}/1-4.2"


def test_a_link_leads_to_its_place_and_a_folder_is_its_own() -> None:
    tree = DrawnTree(links={"sys/class/nvme/nvme0": "sys/devices/a/nvme0"})
    assert locate(tree, "sys/class/nvme/nvme0") == "sys/devices/a/nvme0"
    assert locate(tree, "sys/devices/a/nvme0") == "sys/devices/a/nvme0"
    assert label_of("sys/devices/a/nvme0") == "nvme0"


@pytest.mark.parametrize(
    ("place", "files", "position"),
    [
        ("sys/devices/pci0000:00/0000:00:02.0", {}, Position.INTERNAL),
        ("sys/bus/pci/devices/0000:00:02.0", {}, Position.INTERNAL),
        ("sys/devices/LNXSYSTM:00/device:1a/power_supply/BAT0", {}, Position.INTERNAL),
        ("sys/devices/virtual/mac80211_hwsim/hwsim0", {}, Position.UNKNOWN),
        ("sys/class/power_supply/BAT0", {}, Position.UNKNOWN),
        (f"{XHCI}/usb1", {}, Position.INTERNAL),
        (HUB, {}, Position.UNKNOWN),
        (HUB, {"removable": b"fixed\n"}, Position.INTERNAL),
        (HUB, {"removable": b"removable\n"}, Position.EXTERNAL),
        (HUB, {"removable": b"unknown\n"}, Position.UNKNOWN),
        (HUB, {"removable": errno.EIO}, Position.UNKNOWN),
        (HUB, {"port/connect_type": b"hardwired\n"}, Position.INTERNAL),
        (HUB, {"port/connect_type": b"hotplug\n"}, Position.EXTERNAL),
        (HUB, {"port/connect_type": b"not used\n", "removable": b"fixed\n"}, Position.INTERNAL),
    ],
)
def test_ports_say_where_a_device_sits(
    place: str, files: dict[str, Content], position: Position
) -> None:
    tree = DrawnTree(files={f"{place}/{name}": content for name, content in files.items()})
    assert read_position(tree, place) is position


@pytest.mark.parametrize(
    ("hub", "own", "position"),
    [
        (b"removable\n", b"fixed\n", Position.EXTERNAL),
        (b"fixed\n", b"removable\n", Position.EXTERNAL),
        (b"fixed\n", b"fixed\n", Position.INTERNAL),
        (b"unknown\n", b"fixed\n", Position.UNKNOWN),
    ],
)
def test_behind_an_outside_hub_all_is_outside(hub: bytes, own: bytes, position: Position) -> None:
    tree = DrawnTree(files={f"{HUB}/removable": hub, f"{BEHIND_HUB}/removable": own})
    assert read_position(tree, f"{BEHIND_HUB}/1-4.2:1.0") is position


def test_a_port_is_found_through_its_link() -> None:
    port = f"{XHCI}/usb1/1-0:1.0/usb1-port4"
    tree = DrawnTree(files={f"{port}/connect_type": b"hotplug\n"}, links={f"{HUB}/port": port})
    assert read_position(tree, HUB) is Position.EXTERNAL


def test_what_hangs_on_an_outside_pci_port_is_outside() -> None:
    dock = "sys/devices/pci0000:00/0000:00:07.0/0000:20:00.0"
    files: dict[str, Content] = {
        f"{dock}/removable": b"removable\n",
        f"{dock}/usb3/3-1/removable": b"fixed\n",
    }
    tree = DrawnTree(files=files)
    assert read_position(tree, f"{dock}/usb3/3-1") is Position.EXTERNAL
    assert read_position(tree, f"{dock}/usb3") is Position.EXTERNAL


def test_a_chip_on_an_i2c_bus_is_no_usb_device() -> None:
    tree = DrawnTree()
    assert read_position(tree, "sys/devices/i2c-1/1-0048") is Position.INTERNAL
    assert tree.asked == []
