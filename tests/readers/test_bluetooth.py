"""Bluetooth controllers as the kernel shows them."""

from closeout.model.device import Position
from closeout.model.reading import Absent, Unreadable, Value
from closeout.readers.bluetooth import find_controllers, read_controller
from strategies.drawn_tree import Content, DrawnTree

PORT = "sys/devices/pci0000:00/0000:00:14.0/usb1/1-10"
HALF = f"{PORT}/1-10:1.0"
HCI = f"{HALF}/bluetooth/hci0"

FILES: dict[str, Content] = {
    f"{PORT}/removable": b"fixed\n",
    f"{HALF}/uevent": b"DEVTYPE=usb_interface\nDRIVER=btusb\nPRODUCT=1af9/29/1\n",
    f"{HCI}/rfkill0/soft": b"1\n",
    f"{HCI}/rfkill0/hard": b"0\n",
    f"{HCI}/hci0:11/type": b"LE\n",
}
LINKS = {
    "sys/class/bluetooth/hci0": HCI,
    "sys/class/bluetooth/hci0:11": f"{HCI}/hci0:11",
    "sys/class/rfkill/rfkill0": f"{HCI}/rfkill0",
    f"{HCI}/device": HALF,
    f"{HALF}/driver": "sys/bus/usb/drivers/btusb",
}


def test_a_controller_is_read_whole_and_a_connection_is_none() -> None:
    tree = DrawnTree(files=FILES, links=LINKS)
    listing = find_controllers(tree)
    assert isinstance(listing, Value)
    assert listing.value == (HCI,)
    found = read_controller(tree, HCI)
    assert (found.label, found.position) == ("hci0", Position.INTERNAL)
    assert found.driver == Value(value="btusb", sources=(f"{HALF}/driver",))
    assert found.bus_id == Value(value="1af9:0029", sources=(f"{HALF}/uevent",))
    assert found.soft_blocked == Value(value=True, sources=(f"{HCI}/rfkill0/soft",))
    assert found.hard_blocked == Value(value=False, sources=(f"{HCI}/rfkill0/hard",))


def test_a_dongle_is_outside() -> None:
    tree = DrawnTree(files={**FILES, f"{PORT}/removable": b"removable\n"}, links=LINKS)
    assert read_controller(tree, HCI).position is Position.EXTERNAL


def test_no_loaded_driver_is_no_controller() -> None:
    listing = find_controllers(DrawnTree(folders=("sys/class/net",)))
    assert isinstance(listing, Value)
    assert listing.value == ()
    assert isinstance(find_controllers(DrawnTree(folders=("proc",))), Absent)


def test_the_address_is_asked_for_and_all_zero_is_none() -> None:
    question = "bluetooth address hci0"
    told = DrawnTree(files=FILES, links=LINKS, answers={question: b"3c:52:82:6d:01:9b\n"})
    found = read_controller(told, HCI)
    assert found.mac == Value(value="3c:52:82:6d:01:9b", sources=(question,))
    assert found.mac_sound == Value(value="universal", sources=(question,))
    untold = DrawnTree(files=FILES, links=LINKS, answers={question: b"00:00:00:00:00:00\n"})
    assert isinstance(read_controller(untold, HCI).mac, Absent)
    refused = read_controller(DrawnTree(files=FILES, links=LINKS), HCI)
    assert isinstance(refused.mac, Unreadable)
    assert refused.mac.error == "NOT_OFFERED"
