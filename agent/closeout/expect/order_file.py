"""A work order file, version 1, to the record of it."""

from __future__ import annotations

from collections.abc import Collection, Iterator
from hashlib import sha256
from typing import Final

from closeout.expect.demand import read_line, read_word
from closeout.expect.document import Document, read_document
from closeout.expect.fitted import must, read_fitted
from closeout.expect.mistake import Mistakes
from closeout.expect.order_facts import FACT_KEYS, read_declined, read_facts
from closeout.expect.profile import is_format, read_id
from closeout.expect.proofreader import Proofreader
from closeout.expect.scalar import Table, Target, read_label
from closeout.expect.sequence import in_order
from closeout.expect.vocabulary import (
    LICENCES,
    MOST_PARTS,
    NO_ORDER,
    NOT_PRESENT_CLASSES,
    OPTION_PATTERN,
    OPTION_RULE,
    ORDER_PATTERN,
    ORDER_RULE,
    REPAIRS,
    SOUND_KEY_FORM,
    UNIT_FIELDS,
    WORK_ORDER_FORMAT,
)
from closeout.expect.work_order import WorkOrder
from closeout.model.expectation import Demand, Equals, NewerOrEqual, Present, Scalar
from closeout.model.handling import Omission

WORK_ORDER_KEYS: Final = (
    "work_order",
    "order",
    "profile",
    "repairs",
    "unit",
    "firmware",
    "options",
    "fitted",
    "not_present",
    *FACT_KEYS,
)
FIRMWARE_KEYS: Final = ("version_at_least", "secure_boot", "licence")
NOT_PRESENT_KEYS: Final = ("class", "reason")

LICENCE_EXPECTED: Final[tuple[tuple[Target, Demand], ...]] = (
    (("licence", ""), Present(at_least=1, at_most=None)),
    (("licence", "well_formed"), Equals(value=True)),
    (("licence", "checksum_good"), Equals(value=True)),
    (("licence", "key_format"), Equals(value=SOUND_KEY_FORM)),
)


def parse_work_order(name: str, raw: bytes) -> WorkOrder | Mistakes:
    """The work order in a file's bytes, or every mistake in it."""
    document = read_document(name, raw)
    if isinstance(document, Mistakes):
        return document
    return build_work_order(document, sha256(raw).hexdigest())


def build_work_order(document: Document, digest: str) -> WorkOrder | Mistakes:
    """The work order in a well-formed document, or every mistake in it."""
    tree = document.tree
    proof = Proofreader(document)
    if not is_format(proof, tree, "work_order", WORK_ORDER_FORMAT):
        return proof.mistakes() or Mistakes(found=())
    proof.known_keys((), tree, WORK_ORDER_KEYS)
    proof.required((), tree, "order")
    order = _read_order_id(proof, tree)
    origin = f"work order {order}"
    profile = read_id(proof, ("profile",), tree["profile"]) if "profile" in tree else ""
    repairs = tuple(_read_repairs(proof, tree))
    unit = dict(_read_unit(proof, tree))
    firmware = tuple(_read_firmware(proof, tree))
    options = dict(_read_options(proof, tree))
    parts, fitted = read_fitted(proof, tree, origin)
    not_present = tuple(_read_not_present(proof, tree, {part.kind for part in parts}))
    declined = tuple(read_declined(proof, tree))
    facts = read_facts(proof, tree, fitted, not_present, declined)
    demands = [*((target, Equals(value=value)) for target, value in unit.items()), *firmware]
    return proof.mistakes() or WorkOrder(
        order=order,
        digest=digest,
        profile=profile,
        repairs=repairs,
        unit=unit,
        expectations=in_order(must(target, demand, origin) for target, demand in demands),
        parts=parts,
        facts=facts,
        declined=declined,
        options=options,
    )


def _read_order_id(proof: Proofreader, tree: Table) -> str:
    if "order" not in tree:
        return ""
    order = proof.matching(("order",), tree["order"], ORDER_PATTERN, ORDER_RULE) or ""
    if order.casefold() == NO_ORDER:
        proof.note(("order",), f"{NO_ORDER} is the name for having none; leave the file out then")
    return order


def _read_repairs(proof: Proofreader, tree: Table) -> Iterator[str]:
    seen: set[str] = set()
    for path, value in proof.items(("repairs",), tree.get("repairs", []), MOST_PARTS):
        repair = proof.choice(path, value, REPAIRS)
        if repair in seen:
            proof.note(path, f"{repair} is listed twice")
        elif repair:
            seen.add(repair)
            yield repair


def _read_unit(proof: Proofreader, tree: Table) -> Iterator[tuple[Target, Scalar]]:
    table = proof.table(("unit",), tree.get("unit", {}))
    proof.known_keys(("unit",), table, tuple(UNIT_FIELDS))
    for name, target in UNIT_FIELDS.items():
        if name in table:
            value = read_label(proof, ("unit", name), table[name], target)
            if value is not None:
                yield target, value


def _read_options(proof: Proofreader, tree: Table) -> Iterator[tuple[str, str]]:
    for name, choice in proof.table(("options",), tree.get("options", {})).items():
        place = ("options", name)
        is_named = proof.matching(place, name, OPTION_PATTERN, OPTION_RULE) == name
        chosen = proof.matching(place, choice, OPTION_PATTERN, OPTION_RULE)
        if is_named and chosen:
            yield name, chosen


def _read_firmware(proof: Proofreader, tree: Table) -> Iterator[tuple[Target, Demand]]:
    path = ("firmware",)
    table = proof.table(path, tree.get("firmware", {}))
    proof.known_keys(path, table, FIRMWARE_KEYS)
    if version := read_line(proof, path, table, "version_at_least"):
        yield ("bios", "version"), NewerOrEqual(version=version)
    if "secure_boot" in table:
        wanted = proof.flag((*path, "secure_boot"), table["secure_boot"])
        if wanted is not None:
            yield ("firmware", "secure_boot"), Equals(value=wanted)
    match read_word(proof, path, table, "licence", LICENCES):
        case "expected":
            yield from LICENCE_EXPECTED
        case "none":
            yield ("licence", ""), Present(at_least=0, at_most=0)
        case _:
            pass


def _read_not_present(
    proof: Proofreader, tree: Table, fitted: Collection[str]
) -> Iterator[Omission]:
    seen: set[str] = set()
    for path, table in proof.tables(("not_present",), tree.get("not_present", []), MOST_PARTS):
        proof.known_keys(path, table, NOT_PRESENT_KEYS)
        proof.required(path, table, *NOT_PRESENT_KEYS)
        kind = read_word(proof, path, table, "class", NOT_PRESENT_CLASSES)
        reason = read_line(proof, path, table, "reason")
        if kind in fitted:
            proof.note((*path, "class"), f"{kind} is listed under fitted too")
        if kind and kind in seen:
            proof.note((*path, "class"), f"{kind} is listed twice")
        seen.add(kind)
        yield Omission(what=kind, reason=reason)
