"""Inside or outside, by what ports say (kernel files `removable` and `connect_type`)."""

import errno

import pytest

from closeout.kernel.failure import ReadError
from closeout.model.device import Position
from closeout.readers.places import (
    hardware_of,
    is_on_usb,
    label_of,
    locate,
    position_of_router,
    read_position,
)
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
        (HUB, {"removable": errno.EIO}, Position.UNREAD),
        (HUB, {"removable": b"\n"}, Position.UNREAD),
        (HUB, {"removable": b"perhaps\n"}, Position.UNREAD),
        (HUB, {"port/connect_type": errno.EIO}, Position.UNREAD),
        (HUB, {"port/connect_type": errno.EIO, "removable": b"fixed\n"}, Position.INTERNAL),
        ("sys/devices/pci0000:00/0000:00:02.0", {"removable": errno.EIO}, Position.UNREAD),
        ("sys/devices/pci0000:00/0000:00:02.0", {"removable": b"fixed\n"}, Position.INTERNAL),
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


@pytest.mark.parametrize(
    ("number", "position"),
    [
        (errno.EIO, Position.UNREAD),
        (errno.EACCES, Position.UNREAD),
        (errno.EINVAL, Position.UNKNOWN),
    ],
)
def test_a_link_that_could_not_be_followed_is_not_a_link_that_is_none(
    number: int, position: Position
) -> None:
    class Tree(DrawnTree):
        def target(self, link: str) -> str:
            raise ReadError(link, number)

    assert read_position(Tree(), "sys/class/power_supply/BAT0") is position


def test_what_hangs_on_an_outside_pci_port_is_outside() -> None:
    dock = "sys/devices/pci0000:00/0000:00:07.0/0000:20:00.0"
    files: dict[str, Content] = {
        f"{dock}/removable": b"removable\n",
        f"{dock}/usb3/3-1/removable": b"fixed\n",
    }
    tree = DrawnTree(files=files)
    assert read_position(tree, f"{dock}/usb3/3-1") is Position.EXTERNAL
    assert read_position(tree, f"{dock}/usb3") is Position.EXTERNAL


NHI = "sys/devices/pci0000:00/0000:00:0d.2/domain0"


@pytest.mark.parametrize(
    ("place", "position"),
    [
        (NHI, Position.INTERNAL),
        (f"{NHI}/0-0", Position.INTERNAL),
        (f"{NHI}/0-0/0-1", Position.EXTERNAL),
        (f"{NHI}/0-0/0-301/0-301.0/net/thunderbolt0", Position.EXTERNAL),
        (NHI.replace("domain0", "domain1") + "/1-0/1-1", Position.EXTERNAL),
    ],
)
def test_beyond_the_units_own_router_all_is_outside(place: str, position: Position) -> None:
    """Names as Documentation/admin-guide/thunderbolt.rst gives them: domain and route."""
    assert read_position(DrawnTree(), place) is position
    assert position_of_router(place) is position


@pytest.mark.parametrize(
    ("kind", "position"),
    [
        (b"SD\n", Position.EXTERNAL),
        (b"MMC\n", Position.INTERNAL),
        (b"SDIO\n", Position.INTERNAL),
        (errno.EIO, Position.UNREAD),
    ],
)
def test_a_card_in_a_slot_is_outside_and_soldered_memory_is_not(
    kind: Content, position: Position
) -> None:
    card = "sys/devices/pci0000:00/0000:00:1a.0/mmc_host/mmc0/mmc0:aaaa"
    tree = DrawnTree(files={f"{card}/type": kind})
    assert read_position(tree, f"{card}/block/mmcblk0") is position


@pytest.mark.parametrize(
    "chip",
    [
        "sys/devices/pci0000:00/0000:00:1f.3/i2c-0/0-0050",
        "sys/devices/pci0000:00/0000:00:15.0/i2c-1/1-0015/0018:1AF9:0214.0001/input/input7",
    ],
)
def test_a_chip_on_an_inner_bus_is_not_taken_for_a_usb_device(chip: str) -> None:
    assert read_position(DrawnTree(), chip) is Position.INTERNAL
    assert not is_on_usb(chip)


def test_behind_a_dock_on_a_type_c_port_all_is_outside() -> None:
    """The hub in the dock is plugged into a socket; what it carries is wired to it."""
    files: dict[str, Content] = {
        f"{HUB}/port/connect_type": b"hotplug\n",
        f"{BEHIND_HUB}/port/connect_type": b"hardwired\n",
        f"{BEHIND_HUB}/removable": b"fixed\n",
    }
    net = f"{BEHIND_HUB}/1-4.2:1.0/net/enx3c5282aa0001"
    assert read_position(DrawnTree(files=files), net) is Position.EXTERNAL
    inside = {**files, f"{HUB}/port/connect_type": b"hardwired\n"}
    assert read_position(DrawnTree(files=inside), net) is Position.INTERNAL


@pytest.mark.parametrize(
    ("place", "hardware"),
    [
        (f"{BEHIND_HUB}/1-4.2:1.0/net/eth0", BEHIND_HUB),
        (f"{XHCI}/net/eth0", XHCI),
        ("sys/devices/platform/soc/eth0", "sys/devices/platform/soc/eth0"),
    ],
)
def test_the_hardware_is_the_innermost_device_of_a_bus(place: str, hardware: str) -> None:
    assert hardware_of(place) == hardware
