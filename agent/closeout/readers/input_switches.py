"""Switches on input devices: which devices have one, and on which it is set.

Kernel files: `sys/class/input/inputN/{name,capabilities/sw}`; which are set no file tells, so
`input switches eventN` is asked (kernel.input_switches).
"""

from __future__ import annotations

from collections.abc import Set as AbstractSet
from typing import Final

from closeout.decode.input_switches import decode_switches, switches_question
from closeout.kernel.tree import KernelTree
from closeout.model.inventory import Listing
from closeout.model.late_pattern import late_pattern
from closeout.model.reading import Absent, Reading, Value, convert
from closeout.readers.attributes import list_class, list_folder, read_bytes, read_text
from closeout.readers.decoded import ask_bytes, collect, decoded
from closeout.readers.places import label_of, locate

CLASS: Final = "sys/class/input"
INPUT: Final = late_pattern(r"input\d+")
EVENT: Final = late_pattern(r"event\d+")


def find_inputs(tree: KernelTree) -> Listing:
    """The places of all input devices."""
    return _inputs_of(tree, CLASS, list_class(tree, CLASS))


def find_inputs_under(tree: KernelTree, folder: str) -> Listing:
    """The places of the input devices that belong to the device at a folder."""
    return _inputs_of(tree, folder, list_folder(tree, folder))


def select_inputs(
    tree: KernelTree, inputs: Listing, wanted: AbstractSet[int], unwanted: AbstractSet[int]
) -> Reading[tuple[str, ...]]:
    """The places of those that have a wanted switch and no unwanted one."""
    if not isinstance(inputs, Value):
        return inputs

    def chosen(place: str) -> Reading[tuple[str, ...]]:
        codes = decoded(read_bytes(tree, f"{place}/capabilities/sw"), decode_switches)
        return convert(codes, lambda has: (place,) if has & wanted and not has & unwanted else ())

    return collect(map(chosen, inputs.value), inputs.sources)


def select_set(
    tree: KernelTree, places: Reading[tuple[str, ...]], wanted: AbstractSet[int]
) -> Reading[tuple[str, ...]]:
    """The places where a wanted switch is set; one without an event device cannot tell."""
    if not isinstance(places, Value):
        return places

    def chosen(place: str) -> Reading[tuple[str, ...]]:
        codes = _read_set(tree, place)
        return convert(codes, lambda found: (place,) if found & wanted else ())

    parts = tuple(map(chosen, places.value))
    for part in parts:
        if isinstance(part, Absent):
            return part
    return collect(parts, places.sources)


def name_input(tree: KernelTree, place: str, before: str = "") -> str:
    """What the kernel calls the input device, without the words that come before each name."""
    name = read_text(tree, f"{place}/name")
    if not isinstance(name, Value):
        return label_of(place)
    return name.value.removeprefix(before).strip() or name.value


def _inputs_of(tree: KernelTree, folder: str, listing: Listing) -> Listing:
    if not isinstance(listing, Value):
        return listing
    names = (name for name in listing.value if INPUT.fullmatch(name))
    places = tuple(locate(tree, f"{folder}/{name}") for name in names)
    return Value(value=places, sources=listing.sources)


def _read_set(tree: KernelTree, place: str) -> Reading[frozenset[int]]:
    inside = list_folder(tree, place)
    if not isinstance(inside, Value):
        return inside
    for name in inside.value:
        if EVENT.fullmatch(name):
            return decoded(ask_bytes(tree, switches_question(name)), decode_switches)
    return Absent(reason="the input device has no event node", sources=inside.sources)
