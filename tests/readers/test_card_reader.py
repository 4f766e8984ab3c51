"""Card readers with and without a card; names are invented."""

import errno

import pytest

from closeout.model.device import Position
from closeout.model.reading import Absent, Unreadable, Value
from closeout.readers.card_reader import find_readers, read_reader
from strategies.drawn_tree import Content, DrawnTree
from strategies.shown import values_of

FUNCTION = "sys/devices/pci0000:00/0000:02:00.0"
HOST = f"{FUNCTION}/mmc_host/mmc0"
CARD = f"{HOST}/mmc0:aaaa"
PORT = "sys/devices/pci0000:00/0000:00:14.0/usb1/1-5"
SCSI = f"{PORT}/1-5:1.0/host3/target3:0:0/3:0:0:0"
DISK = f"{SCSI}/block/sdb"


def on_mmc(**files: Content) -> DrawnTree:
    return DrawnTree(
        files={f"{CARD}/{name}": content for name, content in files.items()},
        links={
            "sys/class/mmc_host/mmc0": HOST,
            f"{HOST}/device": FUNCTION,
            f"{FUNCTION}/driver": "sys/bus/pci/drivers/sdhost",
        },
        folders=("sys/block", HOST),
    )


def on_usb(size: bytes, removable: Content, port: bytes = b"removable\n") -> DrawnTree:
    return DrawnTree(
        files={
            f"{DISK}/size": size,
            f"{DISK}/removable": removable,
            f"{SCSI}/model": b"Card Slot       \n",
            f"{PORT}/removable": port,
        },
        links={
            "sys/block/sdb": DISK,
            f"{DISK}/device": SCSI,
            f"{SCSI}/driver": "sys/bus/scsi/drivers/sd",
        },
        folders=("sys/class/net",),
    )


def found(tree: DrawnTree) -> tuple[str, ...]:
    listing = find_readers(tree)
    assert isinstance(listing, Value)
    return listing.value


def test_a_host_without_a_card_is_an_empty_reader() -> None:
    tree = on_mmc()
    assert found(tree) == (HOST,)
    reader = read_reader(tree, HOST)
    assert (reader.label, reader.position) == ("mmc0", Position.INTERNAL)
    assert values_of(reader) == {"bus": "mmc", "driver": "sdhost", "has_card": False}
    assert isinstance(reader.card, Absent)
    assert reader.card.reason == "no card is in"


def test_a_host_with_a_card_tells_its_name() -> None:
    tree = on_mmc(type=b"SD\n", name=b"NV64G\n")
    assert found(tree) == (HOST,)
    shown = values_of(read_reader(tree, HOST))
    assert (shown["has_card"], shown["card"]) == (True, "NV64G")


@pytest.mark.parametrize("kind", [b"MMC\n", b"SDIO\n"])
def test_what_is_soldered_to_its_host_makes_no_reader(kind: bytes) -> None:
    assert found(on_mmc(type=kind)) == ()


def test_a_card_of_unknown_kind_is_in_a_reader() -> None:
    assert found(on_mmc(type=errno.EIO)) == (HOST,)


def test_a_host_that_cannot_be_looked_into_is_a_reader_that_tells_nothing() -> None:
    tree = DrawnTree(
        files={HOST: errno.EIO},
        links={"sys/class/mmc_host/mmc0": HOST},
        folders=("sys/block",),
    )
    assert found(tree) == (HOST,)
    reader = read_reader(tree, HOST)
    assert isinstance(reader.has_card, Unreadable)
    assert isinstance(reader.card, Unreadable)


def test_an_empty_reader_on_usb() -> None:
    tree = on_usb(b"0\n", b"1\n")
    assert found(tree) == (DISK,)
    reader = read_reader(tree, DISK)
    assert reader.position is Position.EXTERNAL
    assert values_of(reader) == {
        "bus": "usb",
        "model": "Card Slot",
        "driver": "sd",
        "has_card": False,
    }


def test_a_built_in_reader_on_usb_is_one_with_a_card_too() -> None:
    tree = on_usb(b"61440000\n", b"1\n", b"fixed\n")
    assert found(tree) == (DISK,)
    reader = read_reader(tree, DISK)
    assert reader.position is Position.INTERNAL
    assert values_of(reader)["has_card"] is True


@pytest.mark.parametrize(
    "tree",
    [
        on_usb(b"61440000\n", b"1\n"),
        on_usb(b"61440000\n", b"0\n", b"fixed\n"),
        on_usb(b"0\n", errno.EIO),
    ],
    ids=["a stick", "a disk", "unknown"],
)
def test_what_is_no_reader(tree: DrawnTree) -> None:
    assert found(tree) == ()


def test_one_class_that_cannot_be_listed_leaves_the_readers_unknown() -> None:
    assert isinstance(find_readers(DrawnTree()), Absent)
    assert isinstance(find_readers(DrawnTree(folders=("sys/class/net",))), Absent)
    refused = DrawnTree(files={"sys/block": errno.EACCES}, folders=("sys/class/net",))
    assert isinstance(find_readers(refused), Unreadable)
