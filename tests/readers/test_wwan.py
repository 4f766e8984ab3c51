"""Mobile broadband modems as the kernel shows them; names and ids are invented."""

import errno

from closeout.model.device import Position
from closeout.model.network import Wwan
from closeout.model.reading import Absent, Unreadable
from closeout.readers.wwan import find_modems, read_modem
from strategies.drawn_tree import Content, DrawnTree
from strategies.shown import value_of, values_of

USB = "sys/devices/pci0000:00/0000:00:14.0/usb2/2-4"
FACE = f"{USB}/2-4:1.0"
CARD = "sys/devices/pci0000:00/0000:08:00.0"

FILES: dict[str, Content] = {
    f"{USB}/removable": b"fixed\n",
    f"{USB}/uevent": b"PRODUCT=1af9/3a1/6\n",
    f"{FACE}/net/wwan0/uevent": b"DEVTYPE=wwan\nINTERFACE=wwan0\n",
    f"{FACE}/net/wwan0/type": b"1\n",
    f"{FACE}/wwan/wwan0/uevent": b"DEVTYPE=wwan_dev\n",
    f"{FACE}/wwan/wwan0/wwan0mbim0/type": b"MBIM\n",
    f"{FACE}/wwan/wwan0/wwan0at0/type": b"AT\n",
    f"{FACE}/rfkill3/soft": b"1\n",
    f"{FACE}/rfkill3/hard": b"0\n",
    f"{CARD}/uevent": b"PCI_ID=1AF9:0308\n",
    f"{CARD}/modem0/wwan/wwan1/uevent": b"DEVTYPE=wwan_dev\n",
}
LINKS = {
    "sys/class/net/wwan0": f"{FACE}/net/wwan0",
    "sys/class/wwan/wwan0": f"{FACE}/wwan/wwan0",
    "sys/class/wwan/wwan0mbim0": f"{FACE}/wwan/wwan0/wwan0mbim0",
    "sys/class/wwan/wwan0at0": f"{FACE}/wwan/wwan0/wwan0at0",
    "sys/class/wwan/wwan1": f"{CARD}/modem0/wwan/wwan1",
    "sys/class/rfkill/rfkill3": f"{FACE}/rfkill3",
    f"{FACE}/net/wwan0/device": FACE,
    f"{FACE}/wwan/wwan0/device": FACE,
    f"{FACE}/wwan/wwan0/wwan0at0/device": f"{FACE}/wwan/wwan0",
    f"{FACE}/driver": "sys/bus/usb/drivers/cdc_mbim",
    f"{CARD}/modem0/wwan/wwan1/device": f"{CARD}/modem0",
}
TREE = DrawnTree(files=FILES, links=LINKS)


def modem(place: str = USB) -> Wwan:
    return read_modem(TREE, place)


def test_all_that_hangs_on_one_device_is_one_modem() -> None:
    assert value_of(find_modems(TREE)) == (USB, CARD)


def test_a_modem_is_read_whole() -> None:
    found = modem()
    assert (found.label, found.position) == ("2-4", Position.INTERNAL)
    assert values_of(found) == {
        "interfaces": ("wwan0",),
        "control_ports": ("wwan0at0", "wwan0mbim0"),
        "driver": "cdc_mbim",
        "bus_id": "1af9:03a1",
        "soft_blocked": True,
        "hard_blocked": False,
    }


def test_a_modem_that_shows_only_its_class_device_has_neither_ports_nor_interfaces() -> None:
    found = modem(CARD)
    assert values_of(found) == {"interfaces": (), "control_ports": (), "bus_id": "1af9:0308"}
    assert isinstance(found.driver, Absent)


def test_a_modem_without_the_class_is_found_by_its_interface() -> None:
    files = {path: text for path, text in FILES.items() if "/wwan/" not in path}
    links = {path: to for path, to in LINKS.items() if "wwan/" not in path}
    tree = DrawnTree(files=files, links=links)
    assert value_of(find_modems(tree)) == (USB,)
    assert value_of(read_modem(tree, USB).control_ports) == ()


def test_a_dongle_is_outside() -> None:
    tree = DrawnTree(files={**FILES, f"{USB}/removable": b"removable\n"}, links=LINKS)
    assert read_modem(tree, USB).position is Position.EXTERNAL


def test_without_its_class_there_is_none_and_what_cannot_be_listed_is_not_none() -> None:
    assert value_of(find_modems(DrawnTree(folders=("sys/class/net",)))) == ()
    denied = DrawnTree(files={**FILES, "sys/class/wwan": errno.EACCES}, links=LINKS)
    assert isinstance(find_modems(denied), Unreadable)
    no_net = DrawnTree(files={"sys/class/net": errno.EACCES}, folders=("sys/class/wwan",))
    assert isinstance(find_modems(no_net), Unreadable)
    assert isinstance(read_modem(no_net, USB).interfaces, Unreadable)
    assert isinstance(read_modem(no_net, USB).driver, Absent)
