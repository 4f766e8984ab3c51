"""Smart card readers on USB, which need no driver."""

import errno

import pytest

from closeout.model.device import Position
from closeout.model.reading import Absent, Unreadable
from closeout.readers.smart_card_reader import find_readers, read_reader
from strategies.drawn_tree import Content, DrawnTree
from strategies.shown import value_of, values_of
from strategies.usb_bytes import build_ccid, build_descriptors, card_reader

DEVICE = "sys/devices/pci0000:00/0000:00:14.0/usb1/1-12"
PLACE = f"{DEVICE}/1-12:1.0"
OTHER = f"{DEVICE}/1-12:1.1"
FILES: dict[str, Content] = {
    f"{PLACE}/bInterfaceClass": b"0b\n",
    f"{PLACE}/uevent": b"PRODUCT=fe24/a20/110\n",
    f"{OTHER}/bInterfaceClass": b"ff\n",
    f"{DEVICE}/product": b"Card Slot\n",
    f"{DEVICE}/serial": b"CWS0412\n",
    f"{DEVICE}/removable": b"fixed\n",
    f"{DEVICE}/descriptors": build_descriptors(card_reader(build_ccid(slots=2, voltages=3))),
}
LINKS = {
    "sys/bus/usb/devices/1-12": DEVICE,
    "sys/bus/usb/devices/1-12:1.0": PLACE,
    "sys/bus/usb/devices/1-12:1.1": OTHER,
}


def drawn(**files: Content) -> DrawnTree:
    return DrawnTree(files={**FILES, **files}, links=LINKS)


def test_interfaces_of_the_class_are_listed() -> None:
    assert value_of(find_readers(drawn())) == (PLACE,)


def test_a_reader_is_read_whole() -> None:
    found = read_reader(drawn(), PLACE)
    assert (found.label, found.position) == ("1-12:1.0", Position.INTERNAL)
    assert values_of(found) == {
        "ids": "fe24:0a20",
        "product": "Card Slot",
        "serial": "CWS0412",
        "revision": "1.10",
        "slots": 2,
        "voltages": ("5.0 V", "3.0 V"),
        "protocols": ("T=0", "T=1"),
    }


@pytest.mark.parametrize(
    "content", [b"short", errno.EIO, build_descriptors(card_reader(build_ccid()))[:-30]]
)
def test_descriptors_that_make_no_sense_leave_the_slots_unknown(content: Content) -> None:
    found = read_reader(drawn(**{f"{DEVICE}/descriptors": content}), PLACE)
    assert isinstance(found.slots, Unreadable)
    assert value_of(found.ids) == "fe24:0a20"


def test_a_reader_without_its_class_descriptor_has_no_slots_to_tell() -> None:
    plain = build_descriptors(card_reader(b"\x04\x30\x00\x00"))
    found = read_reader(drawn(**{f"{DEVICE}/descriptors": plain}), PLACE)
    assert isinstance(found.slots, Absent)
    assert isinstance(read_reader(drawn(), DEVICE).slots, Absent)


@pytest.mark.parametrize("content", [errno.EIO, b"\n"])
def test_an_interface_that_cannot_be_read_might_be_one(content: Content) -> None:
    listing = find_readers(drawn(**{f"{OTHER}/bInterfaceClass": content}))
    assert isinstance(listing, Unreadable)


def test_an_interface_that_is_gone_is_none() -> None:
    files = {path: content for path, content in FILES.items() if not path.startswith(OTHER)}
    assert value_of(find_readers(DrawnTree(files=files, links=LINKS))) == (PLACE,)


def test_a_kernel_without_usb_has_none_and_an_unlisted_bus_is_unknown() -> None:
    assert value_of(find_readers(DrawnTree(folders=("sys/class/net",)))) == ()
    assert isinstance(find_readers(DrawnTree(folders=("proc",))), Absent)
    assert isinstance(
        find_readers(DrawnTree(files={"sys/bus/usb/devices": errno.EACCES})), Unreadable
    )
