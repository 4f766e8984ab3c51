"""What psutil tells otherwise than our own readings.

Kernel paths of ours: `proc/meminfo`, `sys/class/net/*/address`, and the packs of
`sys/class/power_supply`.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from closeout.decode.mac import MacForm, describe_mac
from closeout.decode.second_opinions import (
    decode_charge,
    decode_hardware_addresses,
    decode_memory_total,
)
from closeout.kernel.question_names import BATTERY, INTERFACES, MEMORY
from closeout.kernel.tree import KernelTree
from closeout.model.reading import Absent, Reading, Unreadable, Value, combine
from closeout.readers.attributes import list_folder, read_text
from closeout.readers.battery import find_batteries, read_battery
from closeout.readers.memory_kernel import read_kernel_total
from closeout.readers.second_opinions_heard import AGREED, Comparison, hear, show_texts
from closeout.readers.wifi import NET

MOST_APART: Final = 2
"""Percent between two readings of a charge that moves and is rounded (common practice)."""


def ask_psutil(tree: KernelTree) -> Iterator[Comparison]:
    """Memory to the byte, each interface, and the charge of the only pack."""
    theirs = hear(tree, MEMORY, decode_memory_total)
    yield combine(theirs, read_kernel_total(tree), _compare_totals)
    yield from _compare_interfaces(tree)
    yield _compare_charge(tree)


def _compare_totals(theirs: int, ours: int) -> tuple[str, ...]:
    return AGREED if ours == theirs else (f"memory: ours {ours} bytes, psutil {theirs} bytes",)


def _compare_interfaces(tree: KernelTree) -> Iterator[Comparison]:
    """Both lists of interfaces, and of each the address in use now."""
    theirs = hear(tree, INTERFACES, decode_hardware_addresses)
    names = list_folder(tree, NET)
    if not isinstance(theirs, Value):
        yield theirs
        return
    if not isinstance(names, Value):
        yield names
        return
    for name in names.value:
        yield _compare_address(tree, name, theirs.value.get(name, ()))
    for name, addresses in theirs.value.items():
        if addresses and name not in names.value:
            yield Value(
                value=(f"{name}: ours none, psutil {show_texts(*addresses)}",),
                sources=theirs.sources,
            )


def _compare_address(tree: KernelTree, name: str, theirs: tuple[str, ...]) -> Comparison:
    """Six octets alone are compared: psutil fills up shorter addresses, those of tunnels."""
    ours = read_text(tree, f"{NET}/{name}/address")
    sources = (INTERFACES, *ours.sources)
    if isinstance(ours, Unreadable):
        return ours
    if not isinstance(ours, Value) or describe_mac(ours.value) is MacForm.MALFORMED:
        return Absent(reason="the interface has no address of six octets", sources=sources)
    address = ours.value.strip().lower()
    if address in theirs:
        return Value(value=AGREED, sources=sources)
    text = f"{name}: ours {show_texts(address)}, psutil {show_texts(*theirs)}"
    return Value(value=(text,), sources=sources)


def _compare_charge(tree: KernelTree) -> Comparison:
    """One pack against psutil's; it tells of one alone, and knows packs by their names."""
    theirs = hear(tree, BATTERY, decode_charge)
    ours = _read_charge(tree)
    if not isinstance(theirs, Value):
        return theirs
    if not isinstance(ours, Value):
        return ours
    sources = theirs.sources + ours.sources
    if theirs.value is None:
        return Absent(reason="psutil sees no pack", sources=sources)
    if abs(theirs.value - ours.value) <= MOST_APART:
        return Value(value=AGREED, sources=sources)
    text = f"charge: ours {ours.value} %, psutil {theirs.value:.1f} %"
    return Value(value=(text,), sources=sources)


def _read_charge(tree: KernelTree) -> Reading[int]:
    """How full the only pack is."""
    places = find_batteries(tree)
    if not isinstance(places, Value):
        return places
    packs = [read_battery(tree, place) for place in places.value]
    there = [
        pack for pack in packs if not (isinstance(pack.present, Value) and not pack.present.value)
    ]
    if len(there) != 1:
        return Absent(reason="there is not exactly one pack", sources=places.sources)
    return there[0].capacity_percent
