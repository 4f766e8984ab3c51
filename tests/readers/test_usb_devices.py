"""Devices of the USB bus; names and ids are invented, but for the root hub."""

import errno

import pytest

from closeout.decode.ids_file import Names, encode_names
from closeout.model.device import Position
from closeout.model.reading import Absent, Unreadable, Value
from closeout.readers.usb_devices import find_devices, read_device
from strategies.drawn_tree import Content, DrawnTree
from strategies.shown import value_of, values_of

ROOT = "sys/devices/pci0000:00/0000:00:14.0/usb1"
CAMERA = f"{ROOT}/1-5"
QUESTION = "names usb 1af9:b721"


def interface(place: str, number: int, triple: str) -> dict[str, Content]:
    folder = f"{place}/{place.rsplit('/', 1)[-1]}:1.{number}"
    files = ("bInterfaceClass", "bInterfaceSubClass", "bInterfaceProtocol")
    return {
        f"{folder}/{name}": f"{part}\n".encode()
        for name, part in zip(files, triple.split("/"), strict=True)
    }


FILES: dict[str, Content] = {
    f"{ROOT}/idVendor": b"1d6b\n",
    f"{ROOT}/1-0:1.0/bInterfaceClass": b"09\n",
    f"{ROOT}/1-0:1.0/bInterfaceSubClass": b"00\n",
    f"{ROOT}/1-0:1.0/bInterfaceProtocol": b"01\n",
    f"{CAMERA}/idVendor": b"1af9\n",
    f"{CAMERA}/idProduct": b"b721\n",
    f"{CAMERA}/manufacturer": b"Norvik Optics\n",
    f"{CAMERA}/product": b"Lid Camera\n",
    f"{CAMERA}/serial": b"200901010001\n",
    f"{CAMERA}/bDeviceClass": b"ef\n",
    f"{CAMERA}/bcdDevice": b"0213\n",
    f"{CAMERA}/speed": b"480\n",
    f"{CAMERA}/version": b" 2.00\n",
    f"{CAMERA}/removable": b"fixed\n",
    **interface(CAMERA, 0, "0e/01/00"),
    **interface(CAMERA, 1, "0e/02/00"),
}
LINKS = {
    "sys/bus/usb/devices/usb1": ROOT,
    "sys/bus/usb/devices/1-0:1.0": f"{ROOT}/1-0:1.0",
    "sys/bus/usb/devices/1-5": CAMERA,
    "sys/bus/usb/devices/1-5:1.0": f"{CAMERA}/1-5:1.0",
    f"{CAMERA}/1-5:1.0/driver": "sys/bus/usb/drivers/uvcvideo",
    f"{CAMERA}/1-5:1.1/driver": "sys/bus/usb/drivers/uvcvideo",
}


def drawn(**extra: Content) -> DrawnTree:
    return DrawnTree(files={**FILES, **extra}, links=LINKS)


def test_devices_and_root_hubs_are_listed_and_interfaces_are_not() -> None:
    assert value_of(find_devices(drawn())) == (CAMERA, ROOT)


def test_a_device_is_read_whole() -> None:
    found = read_device(drawn(), CAMERA)
    assert (found.label, found.position) == ("1-5", Position.INTERNAL)
    assert values_of(found) == {
        "ids": "1af9:b721",
        "vendor_name": "Norvik Optics",
        "product_name": "Lid Camera",
        "serial": "200901010001",
        "device_class": "ef",
        "interface_classes": ("0e/01/00", "0e/02/00"),
        "drivers": ("uvcvideo",),
        "unbound": False,
        "speed_mbit": "480",
        "usb_version": "2.00",
        "below_ability": False,
        "firmware": "2.13",
    }


def test_a_device_without_strings_is_named_by_the_file() -> None:
    files = {path: text for path, text in FILES.items() if "product" not in path}
    answer = encode_names(Names(vendor="Norvik", device="Camera Module"))
    found = read_device(DrawnTree(files=files, links=LINKS, answers={QUESTION: answer}), CAMERA)
    assert value_of(found.vendor_name) == "Norvik Optics"
    assert found.product_name == Value(value="Camera Module", sources=(QUESTION,))


def test_without_strings_and_file_the_numbers_stand() -> None:
    files = {path: text for path, text in FILES.items() if "product" not in path}
    found = read_device(DrawnTree(files=files, links=LINKS), CAMERA)
    assert value_of(found.ids) == "1af9:b721"
    assert isinstance(found.product_name, Absent)
    assert found.product_name.sources == (f"{CAMERA}/product", QUESTION)


@pytest.mark.parametrize(
    ("triple", "unbound"), [("0e/01/00", True), ("e0/01/01", True), ("ff/00/00", False)]
)
def test_a_missing_driver_is_remarkable_only_where_the_class_has_one(
    triple: str, *, unbound: bool
) -> None:
    place = f"{ROOT}/1-7"
    found = read_device(DrawnTree(files=interface(place, 0, triple)), place)
    assert value_of(found.drivers) == ()
    assert value_of(found.unbound) is unbound


def test_one_driven_interface_is_enough() -> None:
    links = {path: target for path, target in LINKS.items() if "1.1/driver" not in path}
    found = read_device(DrawnTree(files=FILES, links=links), CAMERA)
    assert value_of(found.drivers) == ("uvcvideo",)
    assert value_of(found.unbound) is False


def test_a_root_hub_is_never_unbound() -> None:
    assert value_of(read_device(drawn(), ROOT).unbound) is False


def test_a_device_without_interfaces_is_not_called_driven() -> None:
    found = read_device(DrawnTree(files={f"{CAMERA}/idVendor": b"1af9\n"}), CAMERA)
    assert isinstance(found.unbound, Absent)
    assert "not configured" in found.unbound.reason


def test_an_interface_that_cannot_be_read_leaves_the_classes_unknown() -> None:
    found = read_device(drawn(**{f"{CAMERA}/1-5:1.1/bInterfaceClass": errno.EIO}), CAMERA)
    assert isinstance(found.interface_classes, Unreadable)
    assert isinstance(found.unbound, Unreadable)


def test_a_driver_that_cannot_be_read_is_not_a_missing_one() -> None:
    links = {path: target for path, target in LINKS.items() if "1.1/driver" not in path}
    files: dict[str, Content] = {**FILES, f"{CAMERA}/1-5:1.1/driver": b"no link"}
    found = read_device(DrawnTree(files=files, links=links), CAMERA)
    assert isinstance(found.drivers, Unreadable)
    assert isinstance(found.unbound, Unreadable)


def test_a_device_that_is_gone_says_so_everywhere() -> None:
    gone = DrawnTree(files={CAMERA: errno.ENODEV})
    found = read_device(gone, CAMERA)
    for reading in (found.interface_classes, found.drivers, found.unbound):
        assert isinstance(reading, Unreadable)
        assert reading.error == "ENODEV"
    assert isinstance(found.ids, Absent)


@pytest.mark.parametrize(
    ("connect_type", "position"),
    [
        (b"hardwired\n", Position.INTERNAL),
        (b"hotplug\n", Position.EXTERNAL),
        (b"unknown\n", Position.UNKNOWN),
    ],
)
def test_its_port_says_where_it_sits(connect_type: bytes, position: Position) -> None:
    place = f"{ROOT}/1-7"
    tree = DrawnTree(files={f"{place}/port/connect_type": connect_type})
    assert read_device(tree, place).position is position


def test_a_kernel_without_usb_shows_none_and_an_unlisted_bus_is_unknown() -> None:
    assert value_of(find_devices(DrawnTree(folders=("sys/class/net",)))) == ()
    assert isinstance(find_devices(DrawnTree(folders=("proc",))), Absent)
    unlisted = DrawnTree(files={"sys/bus/usb/devices": errno.EACCES})
    assert isinstance(find_devices(unlisted), Unreadable)
