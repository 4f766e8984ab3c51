"""Folders that the kernel numbers in the order of plugging in, known by what does not change.

Kernel paths: `hwmonN`, `thermal_zoneN` and `iio:deviceN`. The number of one device differs from
start to start, so its place is the folder above it and the name that its driver gives. Two of
one name in one folder keep their numbers: nothing else tells them apart.
"""

from __future__ import annotations

import re
from typing import Final

from closeout.kernel.tree import KernelTree
from closeout.model.frozen import frozen
from closeout.model.inventory import Listing
from closeout.model.late_pattern import late_pattern
from closeout.model.reading import Value
from closeout.readers.attributes import list_folder, read_text
from closeout.readers.places import label_of

PLAIN: Final = late_pattern(r"[A-Za-z0-9_][A-Za-z0-9_.,:+ -]*")
"""Names that can be part of a place."""


@frozen
class Numbered:
    """How such folders are called, and which file in them holds the name."""

    form: re.Pattern[str]
    name_file: str


def lasting_place(tree: KernelTree, folder: str, numbered: Numbered) -> str:
    """The place of a folder under a name that lasts; the folder itself where there is none."""
    name = read_text(tree, f"{folder}/{numbered.name_file}")
    if not isinstance(name, Value) or not PLAIN.fullmatch(name.value):
        return folder
    if numbered.form.fullmatch(name.value):
        return folder
    parent = folder.rpartition("/")[0]
    return (
        f"{parent}/{name.value}"
        if _of_name(tree, parent, name.value, numbered) == [folder]
        else folder
    )


def folder_at(tree: KernelTree, place: str, numbered: Numbered) -> str:
    """The folder that now has the place; the place itself where no folder has it."""
    if numbered.form.fullmatch(label_of(place)):
        return place
    parent, _, name = place.rpartition("/")
    return next(iter(_of_name(tree, parent, name, numbered)), place)


def list_numbered(listing: Listing, numbered: Numbered) -> tuple[str, ...]:
    """The names of a listing that have the form, by their numbers."""
    names = listing.value if isinstance(listing, Value) else ()
    mine = [name for name in names if numbered.form.fullmatch(name)]
    return tuple(sorted(mine, key=lambda name: (len(name), name)))


def _of_name(tree: KernelTree, parent: str, name: str, numbered: Numbered) -> list[str]:
    folders = [f"{parent}/{own}" for own in list_numbered(list_folder(tree, parent), numbered)]
    names = [read_text(tree, f"{folder}/{numbered.name_file}") for folder in folders]
    return [
        folder
        for folder, told in zip(folders, names, strict=True)
        if isinstance(told, Value) and told.value == name
    ]
