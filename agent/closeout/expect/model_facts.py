"""What a profile says of its model besides demands: built-in parts, blank fields, labels."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Final

from closeout.expect.demand import read_word
from closeout.expect.label_format import CASES, HYPHENS, LabelFormat
from closeout.expect.mistake import KeyPath
from closeout.expect.proofreader import Proofreader
from closeout.expect.scalar import Table, Target
from closeout.expect.vocabulary import (
    CONNECTION_PATTERN,
    CONNECTION_RULE,
    MOST_PARTS,
    OCCUPANCY,
    UNIT_FIELDS,
)
from closeout.model.attribute import attributes_of
from closeout.model.built_in import BuiltIn
from closeout.model.inventory import KINDS

BUILT_IN_KEYS: Final = ("connectors", "usb_ports", "usb_ids")
LABEL_KEYS: Final = ("prefixes", "case", "hyphens")
NORM_KEYS: Final = ("blank",)
USB_PORT: Final = (r"[0-9]+-[0-9]+(\.[0-9]+)*", "a port as the kernel names it: 1-4 or 1-4.2")
USB_IDS: Final = (r"[0-9a-f]{4}:[0-9a-f]{4}", "vendor:product, four small hex digits each")


def read_built_in(proof: Proofreader, tree: Table) -> BuiltIn:
    """What is inside the unit although the kernel's name for it does not tell."""
    path = ("built_in",)
    table = proof.table(path, tree.get("built_in", {}))
    proof.known_keys(path, table, BUILT_IN_KEYS)
    named = proof.items((*path, "connectors"), table.get("connectors", []), MOST_PARTS)
    connectors = [proof.text(place, item) or "" for place, item in named]
    return BuiltIn(
        connectors=tuple(connectors),
        usb_ports=_read_alike(proof, (*path, "usb_ports"), table, USB_PORT),
        usb_ids=_read_alike(proof, (*path, "usb_ids"), table, USB_IDS),
    )


def read_lacks(proof: Proofreader, tree: Table) -> tuple[str, ...]:
    """The connections of the repair map that the model does not have."""
    lacks = _read_alike(proof, ("lacks",), tree, (CONNECTION_PATTERN, CONNECTION_RULE))
    for index, name in enumerate(lacks):
        if name and name in lacks[:index]:
            proof.note(("lacks", index), f"{name} is listed twice")
    return lacks


def read_norm(proof: Proofreader, tree: Table) -> Mapping[Target, KeyPath]:
    """The fields that healthy units of the model leave blank, each with its place in the file."""
    path = ("norm",)
    table = proof.table(path, tree.get("norm", {}))
    proof.known_keys(path, table, NORM_KEYS)
    return dict(_read_blank(proof, (*path, "blank"), table.get("blank", [])))


def read_labels(proof: Proofreader, tree: Table) -> Mapping[str, LabelFormat]:
    """How the model's label shows what the firmware holds, by field of the unit."""
    table = proof.table(("label",), tree.get("label", {}))
    proof.known_keys(("label",), table, tuple(UNIT_FIELDS))
    return {
        field: _read_label(proof, ("label", field), proof.table(("label", field), table[field]))
        for field in UNIT_FIELDS
        if field in table
    }


def _read_label(proof: Proofreader, path: KeyPath, table: Table) -> LabelFormat:
    proof.known_keys(path, table, LABEL_KEYS)
    named = proof.items((*path, "prefixes"), table.get("prefixes", []), MOST_PARTS)
    prefixes = tuple(proof.text(place, item) or "" for place, item in named)
    plain = LabelFormat()
    return LabelFormat(
        prefixes=prefixes,
        case=read_word(proof, path, table, "case", CASES) or plain.case,
        hyphens=read_word(proof, path, table, "hyphens", HYPHENS) or plain.hyphens,
    )


def _read_blank(
    proof: Proofreader, path: KeyPath, value: object
) -> Iterator[tuple[Target, KeyPath]]:
    seen: set[Target] = set()
    for place, item in proof.items(path, value, MOST_PARTS):
        kind, _, name = (proof.text(place, item) or "").partition(".")
        if kind and proof.choice(place, kind, tuple(KINDS)) and not name:
            proof.note(place, "a class and an attribute of it are wanted: system.family")
        if kind not in KINDS or not name:
            continue
        allowed = tuple(one for one in attributes_of(KINDS[kind]) if one not in OCCUPANCY)
        if proof.choice(place, name, allowed) is None:
            continue
        if (kind, name) in seen:
            proof.note(place, f"{kind}.{name} is listed twice")
        seen.add((kind, name))
        yield (kind, name), place


def _read_alike(
    proof: Proofreader, path: KeyPath, table: Table, form: tuple[str, str]
) -> tuple[str, ...]:
    """A list of texts that all have one form: its pattern, and the rule in words."""
    named = proof.items(path, table.get(str(path[-1]), []), MOST_PARTS)
    return tuple(proof.matching(place, item, *form) or "" for place, item in named)
