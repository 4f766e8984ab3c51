"""What a model must have: a profile file, version 1, to expectations."""

from collections.abc import Mapping
from hashlib import sha256
from typing import Final

from closeout.expect.contradiction import find_clashes, why_never
from closeout.expect.demand import read_demand, read_line
from closeout.expect.document import Document, is_table, read_document
from closeout.expect.log_line import read_lines
from closeout.expect.mistake import KeyPath, Mistakes
from closeout.expect.part_demand import read_parts
from closeout.expect.proofreader import Proofreader
from closeout.expect.sequence import in_order
from closeout.expect.vocabulary import (
    ID_PATTERN,
    ID_RULE,
    MOST_DEMANDS,
    MOST_PARTS,
    PROFILE_FORMAT,
)
from closeout.model.built_in import BuiltIn
from closeout.model.expectation import Expectation
from closeout.model.frozen import frozen
from closeout.model.log_rules import LogRule
from closeout.model.part_demand import PartDemand
from closeout.model.report import SourceFile

PROFILE_KEYS: Final = (
    "profile",
    "id",
    "revision",
    "title",
    "matches",
    "built_in",
    "harmless",
    "demand",
    "part",
)
MATCH_KEYS: Final = ("manufacturer", "product")
BUILT_IN_KEYS: Final = ("connectors", "usb_ports", "usb_ids")
USB_PORT: Final = (r"[0-9]+-[0-9]+(\.[0-9]+)*", "a port as the kernel names it: 1-4 or 1-4.2")
USB_IDS: Final = (r"[0-9a-f]{4}:[0-9a-f]{4}", "vendor:product, four small hex digits each")


@frozen
class Match:
    """The units that a profile is for, by maker and product as their firmware names them."""

    manufacturer: str
    product: str


@frozen
class Profile:
    """What a model must have; `digest` is the SHA-256 of the file, `matches` None for any unit.

    `built_in` names what is inside the unit although the kernel's name for it does not tell;
    `harmless` are lines of the kernel's log that every unit of the model has; `parts` are what it
    is made of, device by device.
    """

    id: str
    revision: str
    title: str
    digest: str
    matches: Match | None
    built_in: BuiltIn
    expectations: tuple[Expectation, ...]
    harmless: tuple[LogRule, ...] = ()
    parts: tuple[PartDemand, ...] = ()

    @property
    def source(self) -> SourceFile:
        """How a report names it."""
        return SourceFile(name=self.id, revision=self.revision, digest=self.digest)


def parse_profile(name: str, raw: bytes) -> Profile | Mistakes:
    """The profile in a file's bytes, or every mistake in it. `name` is what people call the file.

    The order of the demands changes nothing but the digest.
    """
    document = read_document(name, raw)
    if isinstance(document, Mistakes):
        return document
    return build_profile(document, sha256(raw).hexdigest())


def build_profile(document: Document, digest: str) -> Profile | Mistakes:
    """The profile in a well-formed document, or every mistake in it."""
    tree = document.tree
    proof = Proofreader(document)
    if not is_format(proof, tree, "profile", PROFILE_FORMAT):
        return proof.mistakes() or Mistakes(found=())
    proof.known_keys((), tree, PROFILE_KEYS)
    proof.required((), tree, "id", "revision", "title", "demand")
    identity = read_id(proof, ("id",), tree["id"]) if "id" in tree else ""
    revision = read_line(proof, (), tree, "revision")
    title = read_line(proof, (), tree, "title")
    matches = _read_match(proof, tree["matches"]) if "matches" in tree else None
    built_in = _read_built_in(proof, tree["built_in"]) if "built_in" in tree else BuiltIn()
    lines = tuple(read_lines(proof, ("harmless",), tree.get("harmless", [])))
    expectations = _read_demands(proof, tree, f"profile {identity}")
    parts = read_parts(proof, tree, f"profile {identity}", expectations)
    return proof.mistakes() or Profile(
        id=identity,
        revision=revision,
        title=title,
        digest=digest,
        matches=matches,
        built_in=built_in,
        expectations=in_order(expectations),
        harmless=tuple(rule for _, rule, _ in lines),
        parts=parts,
    )


def is_format(proof: Proofreader, tree: Mapping[str, object], key: str, known: int) -> bool:
    """Whether the file says that it is of the kind and format that this version reads."""
    if key not in tree:
        proof.note((key,), f"missing; the file must say {key} = {known}")
        return False
    number = proof.number((key,), tree[key])
    if number not in {known, None}:
        proof.note((key,), f"format {number} is not known here; allowed: {known}")
    return number == known


def read_id(proof: Proofreader, path: KeyPath, value: object) -> str:
    """A profile id; empty where it is not one."""
    return proof.matching(path, value, ID_PATTERN, ID_RULE) or ""


def _read_match(proof: Proofreader, value: object) -> Match:
    path = ("matches",)
    table = proof.table(path, value)
    proof.known_keys(path, table, MATCH_KEYS)
    if is_table(value):
        proof.required(path, table, *MATCH_KEYS)
    return Match(
        manufacturer=read_line(proof, path, table, "manufacturer"),
        product=read_line(proof, path, table, "product"),
    )


def _read_built_in(proof: Proofreader, value: object) -> BuiltIn:
    path = ("built_in",)
    table = proof.table(path, value)
    proof.known_keys(path, table, BUILT_IN_KEYS)
    named = proof.items((*path, "connectors"), table.get("connectors", []), MOST_PARTS)
    connectors = [proof.text(place, item) or "" for place, item in named]
    return BuiltIn(
        connectors=tuple(connectors),
        usb_ports=_read_alike(proof, (*path, "usb_ports"), table, USB_PORT),
        usb_ids=_read_alike(proof, (*path, "usb_ids"), table, USB_IDS),
    )


def _read_alike(
    proof: Proofreader, path: KeyPath, table: Mapping[str, object], form: tuple[str, str]
) -> tuple[str, ...]:
    """A list of texts that all have one form: its pattern, and the rule in words."""
    named = proof.items(path, table.get(str(path[-1]), []), MOST_PARTS)
    return tuple(proof.matching(place, item, *form) or "" for place, item in named)


def _read_demands(proof: Proofreader, tree: Mapping[str, object], origin: str) -> list[Expectation]:
    if "demand" not in tree:
        return []
    places: list[KeyPath] = []
    expectations: list[Expectation] = []
    if tree["demand"] == []:
        proof.note(("demand",), "nothing is demanded, so nothing could be released")
    for path, table in proof.tables(("demand",), tree["demand"], MOST_DEMANDS):
        expectation = read_demand(proof, path, table, origin)
        if expectation is not None:
            places.append(path)
            expectations.append(expectation)
    note_clashes(proof, places, expectations)
    return expectations


def note_clashes(
    proof: Proofreader, places: list[KeyPath], expectations: list[Expectation]
) -> None:
    """Notes demands that cannot be met, cannot stand together, or are made twice."""
    for place, expectation in zip(places, expectations, strict=True):
        if why := why_never(expectation):
            proof.note((*place, "where"), why)
    for first, second, why in find_clashes(expectations):
        where = f"the demand on line {proof.line(places[first])}"
        proof.note(places[second], f"{expectations[second].rule} {why} {where}")
