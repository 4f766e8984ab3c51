"""Readers for memory cards: hosts of the MMC class, and readers on USB.

Kernel paths: `sys/class/mmc_host/*` with `mmcN:XXXX/{type,name}` for a card that is in, and
`sys/block/sdX` with a medium that comes out; empty, its size is 0 (include/linux/mmc/card.h,
Documentation/ABI/stable/sysfs-block). A host with a soldered eMMC or a radio on it is no reader;
nor is a stick plugged in from outside, which with its medium in looks like a reader.
"""

from __future__ import annotations

from typing import Final

from closeout.kernel.tree import KernelTree
from closeout.model.device import Position
from closeout.model.inventory import Listing
from closeout.model.late_pattern import late_pattern
from closeout.model.reading import Absent, Reading, Value, convert
from closeout.model.storage import CardReader
from closeout.readers.attributes import (
    list_class,
    list_folder,
    read_flag,
    read_integer,
    read_text,
)
from closeout.readers.places import label_of, locate, read_position
from closeout.readers.radio import read_driver
from closeout.readers.reader import Reader

MMC_HOST: Final = "sys/class/mmc_host"
BLOCK: Final = "sys/block"
HOST: Final = late_pattern(r"mmc\d+")
CARD: Final = late_pattern(r"mmc\d+:[0-9a-f]+")
USB_DISK: Final = late_pattern(r".*/usb\d+/.*/(sd[a-z]+)")
NOT_A_READERS: Final = frozenset({"MMC", "SDIO"})
"""Kernel words in `type` of what is soldered to its host."""


def find_readers(tree: KernelTree) -> Listing:
    """The places of all readers; both classes have to be listed for an answer."""
    hosts = list_class(tree, MMC_HOST)
    if not isinstance(hosts, Value):
        return hosts
    blocks = list_folder(tree, BLOCK)
    if not isinstance(blocks, Value):
        return blocks
    on_mmc = [locate(tree, f"{MMC_HOST}/{name}") for name in hosts.value if HOST.fullmatch(name)]
    on_usb = [locate(tree, f"{BLOCK}/{name}") for name in blocks.value]
    found = (
        *(place for place in on_mmc if not _is_soldered(tree, place)),
        *(place for place in on_usb if _is_usb_reader(tree, place)),
    )
    return Value(value=found, sources=hosts.sources + blocks.sources)


def read_reader(tree: KernelTree, place: str) -> CardReader:
    """One reader with the card that is in it."""
    return _read_host(tree, place) if HOST.fullmatch(label_of(place)) else _read_usb(tree, place)


def _read_host(tree: KernelTree, place: str) -> CardReader:
    cards = _list_cards(tree, place)
    return CardReader(
        place=place,
        label=label_of(place),
        position=read_position(tree, place),
        bus=Value(value="mmc", sources=(place,)),
        model=Absent(reason="a host for cards has no name", sources=(place,)),
        driver=read_driver(tree, f"{place}/device"),
        has_card=convert(cards, bool),
        card=_read_card(tree, place, cards),
    )


def _read_usb(tree: KernelTree, place: str) -> CardReader:
    return CardReader(
        place=place,
        label=label_of(place),
        position=read_position(tree, place),
        bus=Value(value="usb", sources=(place,)),
        model=convert(read_text(tree, f"{place}/device/model"), str.strip),
        driver=read_driver(tree, f"{place}/device"),
        has_card=convert(read_integer(tree, f"{place}/size"), bool),
        card=Absent(reason="a reader on USB does not name its card", sources=(place,)),
    )


def _list_cards(tree: KernelTree, place: str) -> Reading[tuple[str, ...]]:
    return convert(list_folder(tree, place), lambda names: tuple(filter(CARD.fullmatch, names)))


def _read_card(tree: KernelTree, place: str, cards: Reading[tuple[str, ...]]) -> Reading[str]:
    if not isinstance(cards, Value):
        return cards
    if not cards.value:
        return Absent(reason="no card is in", sources=cards.sources)
    return read_text(tree, f"{place}/{cards.value[0]}/name")


def _is_soldered(tree: KernelTree, place: str) -> bool:
    cards = _list_cards(tree, place)
    kinds = [
        read_text(tree, f"{place}/{card}/type")
        for card in (cards.value if isinstance(cards, Value) else ())
    ]
    return any(isinstance(kind, Value) and kind.value in NOT_A_READERS for kind in kinds)


def _is_usb_reader(tree: KernelTree, place: str) -> bool:
    """Its medium comes out, and either none is in or the reader itself is built in."""
    if USB_DISK.fullmatch(place) is None:
        return False
    removable = read_flag(tree, f"{place}/removable")
    if not (isinstance(removable, Value) and removable.value):
        return False
    size = read_integer(tree, f"{place}/size")
    is_empty = isinstance(size, Value) and size.value == 0
    return is_empty or read_position(tree, place) is Position.INTERNAL


READERS: Final = (Reader(kind="card_reader", find=find_readers, read=read_reader),)
