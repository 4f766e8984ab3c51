"""What radios of every kind have: the card behind them and their block switches.

Kernel paths: the `device` link of a class device with `driver`, `uevent`, `vendor`, `device`;
`sys/class/rfkill/*` (Documentation/ABI/stable/sysfs-class-rfkill).
"""

from __future__ import annotations

from typing import Final

from closeout.decode.numerals import parse_hexadecimal
from closeout.decode.uevent import decode_uevent, find_bus_id
from closeout.kernel.tree import KernelTree
from closeout.model.frozen import frozen
from closeout.model.reading import Absent, Reading, Value, combine, convert
from closeout.readers.attributes import (
    list_class,
    read_bytes,
    read_flag,
    read_link_name,
    read_text,
    understand,
)
from closeout.readers.places import label_of, locate

RFKILL: Final = "sys/class/rfkill"


@frozen
class Blocks:
    """Whether a radio is blocked by software, and by a switch or a line of the board."""

    soft: Reading[bool]
    hard: Reading[bool]


def read_driver(tree: KernelTree, card: str) -> Reading[str]:
    """The kernel driver of the card."""
    driver = read_link_name(tree, f"{card}/driver")
    if isinstance(driver, Absent):
        return Absent(reason="no driver is bound", sources=driver.sources)
    return driver


def read_bus_id(tree: KernelTree, card: str) -> Reading[str]:
    """`vendor:device` of the card as its bus names it."""
    uevent = read_bytes(tree, f"{card}/uevent")
    named = convert(convert(uevent, decode_uevent), find_bus_id)
    if isinstance(named, Value) and named.value is not None:
        return Value(value=named.value, sources=named.sources)
    ids = combine(_read_id(tree, f"{card}/vendor"), _read_id(tree, f"{card}/device"), _join)
    if isinstance(ids, Absent):
        sources = (*uevent.sources, *ids.sources)
        return Absent(reason="its bus gives no ids", sources=sources)
    return ids


def _read_id(tree: KernelTree, path: str) -> Reading[str]:
    text = read_text(tree, path)
    return understand(text, "four hexadecimal digits", lambda found: parse_hexadecimal(found, 4))


def _join(vendor: str, device: str) -> str:
    return f"{vendor}:{device}"


def read_blocks(tree: KernelTree, place: str) -> Blocks:
    """The switches of the radio at a place: the rfkill device under it, or of its name."""
    found = _find_switch(tree, place)
    if not isinstance(found, Value):
        return Blocks(soft=found, hard=found)
    return Blocks(
        soft=read_flag(tree, f"{found.value}/soft"), hard=read_flag(tree, f"{found.value}/hard")
    )


def _find_switch(tree: KernelTree, place: str) -> Reading[str]:
    """The place of the rfkill device; one whose name cannot be read might be the one."""
    listing = list_class(tree, RFKILL)
    if not isinstance(listing, Value):
        return listing
    untold: Reading[str] = Absent(
        reason="no rfkill switch belongs to this radio", sources=listing.sources
    )
    for entry in listing.value:
        switch = locate(tree, f"{RFKILL}/{entry}")
        if switch.startswith(f"{place}/"):
            return Value(value=switch, sources=listing.sources)
        name = read_text(tree, f"{switch}/name")
        if isinstance(name, Value) and name.value == label_of(place):
            return Value(value=switch, sources=name.sources)
        if not isinstance(name, Value | Absent):
            untold = name
    return untold
