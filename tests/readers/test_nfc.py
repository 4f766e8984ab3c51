"""NFC controllers, with the switches that every radio has."""

import errno

from closeout.model.device import Position
from closeout.model.reading import Absent, Unreadable
from closeout.readers.nfc import find_controllers, read_controller
from strategies.drawn_tree import Content, DrawnTree
from strategies.shown import value_of, values_of

CARD = "sys/devices/pci0000:00/0000:00:15.1/i2c-3/i2c-FE600001:00"
PLACE = f"{CARD}/nfc/nfc0"
SIMULATED = "sys/devices/virtual/nfc/nfc1"
FILES: dict[str, Content] = {
    f"{PLACE}/rfkill4/soft": b"0\n",
    f"{PLACE}/rfkill4/hard": b"1\n",
    f"{CARD}/uevent": b"MODALIAS=acpi:FE600001:\n",
    f"{SIMULATED}/uevent": b"\n",
}
LINKS = {
    "sys/class/nfc/nfc0": PLACE,
    "sys/class/nfc/nfc1": SIMULATED,
    "sys/class/rfkill/rfkill4": f"{PLACE}/rfkill4",
    f"{PLACE}/device": CARD,
    f"{CARD}/driver": "sys/bus/i2c/drivers/fen_nfc",
}


def test_a_controller_is_read_and_a_simulated_one_is_none() -> None:
    tree = DrawnTree(files=FILES, links=LINKS)
    assert value_of(find_controllers(tree)) == (PLACE,)
    found = read_controller(tree, PLACE)
    assert (found.label, found.position) == ("nfc0", Position.INTERNAL)
    assert values_of(found) == {"driver": "fen_nfc", "soft_blocked": False, "hard_blocked": True}
    assert isinstance(found.bus_id, Absent)


def test_no_loaded_driver_is_no_controller_and_an_unreadable_class_is_not() -> None:
    assert value_of(find_controllers(DrawnTree(folders=("sys/class/net",)))) == ()
    unlisted = DrawnTree(files={"sys/class/nfc": errno.EACCES})
    assert isinstance(find_controllers(unlisted), Unreadable)
