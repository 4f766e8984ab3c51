"""Functions of the PCI bus; names and ids are invented."""

import errno

import pytest

from closeout.decode.ids_file import Names, encode_names
from closeout.kernel.folder import FolderTree
from closeout.model.buses import PciDevice
from closeout.model.device import Position
from closeout.model.reading import Absent, Unreadable, Value
from closeout.readers.buses import READERS
from closeout.readers.pci_devices import find_functions, read_function
from strategies.drawn_tree import Content, DrawnTree
from strategies.shown import values_of

CARD = "sys/devices/pci0000:00/0000:02:00.0"
QUESTION = "names pci 1af9:2723"

FILES: dict[str, Content] = {
    f"{CARD}/vendor": b"0x1AF9\n",
    f"{CARD}/device": b"0x2723\n",
    f"{CARD}/class": b"0x028000\n",
    f"{CARD}/subsystem_vendor": b"0x1af9\n",
    f"{CARD}/subsystem_device": b"0x0084\n",
}
LINKS = {
    "sys/bus/pci/devices/0000:02:00.0": CARD,
    f"{CARD}/driver": "sys/bus/pci/drivers/norvik_wifi",
}
ANSWERS = {QUESTION: encode_names(Names(vendor="Norvik Silicon", device="Radio Card 200"))}


def function(
    changes: dict[str, Content] | None = None, answers: dict[str, Content] | None = None
) -> PciDevice:
    links = {path: target for path, target in LINKS.items() if path not in (changes or {})}
    return read_function(
        DrawnTree(files={**FILES, **(changes or {})}, links=links, answers=answers or {}), CARD
    )


def test_a_function_is_read_whole() -> None:
    listing = find_functions(DrawnTree(files=FILES, links=LINKS))
    assert isinstance(listing, Value)
    assert listing.value == (CARD,)
    found = function(answers=dict(ANSWERS))
    assert (found.label, found.position) == ("0000:02:00.0", Position.INTERNAL)
    assert values_of(found) == {
        "ids": "1af9:2723",
        "subsystem_ids": "1af9:0084",
        "class_code": "028000",
        "class_words": "network controller, other than Ethernet",
        "vendor_name": "Norvik Silicon",
        "device_name": "Radio Card 200",
        "driver": "norvik_wifi",
        "unbound": False,
    }


def test_without_a_file_of_names_the_numbers_stand() -> None:
    found = function()
    assert isinstance(found.ids, Value)
    for name in (found.vendor_name, found.device_name):
        assert name == Absent(reason="the system has no file of names", sources=(QUESTION,))


def test_a_device_that_the_file_does_not_list_keeps_its_vendor() -> None:
    found = function(answers={QUESTION: encode_names(Names(vendor="Norvik Silicon", device=None))})
    assert isinstance(found.vendor_name, Value)
    assert isinstance(found.device_name, Absent)
    assert found.device_name.reason == "the file of names does not list it"


@pytest.mark.parametrize(("answer", "error"), [(b"[]", "MALFORMED"), (errno.EIO, "EIO")])
def test_an_answer_that_is_none_is_unreadable(answer: Content, error: str) -> None:
    found = function(answers={QUESTION: answer})
    assert isinstance(found.vendor_name, Unreadable)
    assert found.vendor_name.error == error


@pytest.mark.parametrize(
    ("code", "unbound"), [(b"0x028000\n", True), (b"0x060400\n", False), (b"0xff0000\n", False)]
)
def test_a_missing_driver_is_remarkable_only_where_the_class_has_one(
    code: bytes, *, unbound: bool
) -> None:
    files: dict[str, Content] = {**FILES, f"{CARD}/class": code}
    found = read_function(DrawnTree(files=files), CARD)
    assert found.driver == Absent(reason="no driver is bound", sources=(f"{CARD}/driver",))
    assert isinstance(found.unbound, Value)
    assert found.unbound.value is unbound


def test_a_driver_that_cannot_be_read_is_not_a_missing_one() -> None:
    files: dict[str, Content] = {**FILES, f"{CARD}/driver": b"no link"}
    found = read_function(DrawnTree(files=files), CARD)
    assert isinstance(found.driver, Unreadable)
    assert isinstance(found.unbound, Unreadable)


def test_without_a_class_nothing_is_said_about_its_driver() -> None:
    files = {**FILES, f"{CARD}/class": errno.EIO}
    found = read_function(DrawnTree(files=files), CARD)
    assert isinstance(found.unbound, Unreadable)
    assert isinstance(found.class_words, Unreadable)


def test_ids_that_cannot_be_read_are_not_asked_for() -> None:
    files: dict[str, Content] = {**FILES, f"{CARD}/device": errno.EACCES}
    tree = DrawnTree(files=files, answers=dict(ANSWERS))
    found = read_function(tree, CARD)
    assert isinstance(found.ids, Unreadable)
    assert isinstance(found.vendor_name, Unreadable)
    assert not any(question.startswith("names ") for question in tree.asked)


def test_zeros_are_no_subsystem() -> None:
    zeros: dict[str, Content] = {
        f"{CARD}/subsystem_vendor": b"0x0000\n",
        f"{CARD}/subsystem_device": b"0x0000\n",
    }
    assert isinstance(function(zeros).subsystem_ids, Absent)


def test_a_machine_without_the_bus_has_no_functions() -> None:
    assert find_functions(DrawnTree(folders=("sys/class/net",))) == Value(
        value=(), sources=("sys/bus/pci", "sys/class")
    )
    assert isinstance(find_functions(DrawnTree(folders=("sys/bus/pci/drivers",))), Absent)
    assert isinstance(find_functions(DrawnTree(folders=("proc",))), Absent)
    assert isinstance(
        find_functions(DrawnTree(files={"sys/bus/pci/devices": errno.EIO})), Unreadable
    )


def test_the_list_names_every_bus() -> None:
    assert [reader.kind for reader in READERS] == [
        "pci_device",
        "usb_device",
        "bus_device",
    ]


@pytest.mark.live
def test_this_machine_agrees_with_its_configuration_space() -> None:
    """The header of each function (PCI Local Bus 3.0, section 6.1) says the same as the files."""
    tree = FolderTree("/")
    listing = find_functions(tree)
    if not (isinstance(listing, Value) and listing.value):
        pytest.skip("this machine shows no PCI bus")
    for place in listing.value:
        header = tree.read(f"{place}/config")
        found = read_function(tree, place)
        vendor, device = (int.from_bytes(header[at : at + 2], "little") for at in (0, 2))
        assert found.ids == Value(
            value=f"{vendor:04x}:{device:04x}", sources=(f"{place}/vendor", f"{place}/device")
        )
        assert isinstance(found.class_code, Value)
        assert found.class_code.value == header[11:8:-1].hex()
