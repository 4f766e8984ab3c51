"""One profile file by itself: what it says, before anything that it inherits is added."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Final

from closeout.expect.demand import read_demand, read_line, read_where, read_word
from closeout.expect.document import is_table
from closeout.expect.file_head import is_format, read_id
from closeout.expect.label_format import LabelFormat
from closeout.expect.log_line import read_lines
from closeout.expect.mistake import KeyPath
from closeout.expect.model_facts import read_built_in, read_labels, read_lacks, read_norm
from closeout.expect.option import PlacedOption, read_options
from closeout.expect.own_connection import OwnConnection, read_own_connections
from closeout.expect.part_demand import read_parts
from closeout.expect.proofreader import Proofreader
from closeout.expect.scalar import Table, Target
from closeout.expect.vocabulary import LAYOUTS, MOST_DEMANDS, OCCUPANCY, PROFILE_FORMAT
from closeout.model.attribute import attributes_of
from closeout.model.built_in import BuiltIn
from closeout.model.expectation import About, Expectation
from closeout.model.frozen import frozen
from closeout.model.inventory import KINDS
from closeout.model.log_rules import LogRule
from closeout.model.part_demand import PartDemand
from closeout.model.report import SourceFile

PROFILE_KEYS: Final = (
    "profile",
    "id",
    "revision",
    "title",
    "inherits",
    "base",
    "matches",
    "built_in",
    "lacks",
    "keyboard_layout",
    "norm",
    "label",
    "harmless",
    "demand",
    "part",
    "connection",
    "drop",
    "option",
)
MATCH_KEYS: Final = ("manufacturer", "product")
DROP_KEYS: Final = ("class", "attribute", "where", "reason")


@frozen
class Match:
    """The units that a profile is for, by maker and product as their firmware names them."""

    manufacturer: str
    product: str


@frozen
class PlacedDemand:
    """A demand, the file that makes it, and its place in that."""

    expectation: Expectation
    file: str
    place: KeyPath

    @property
    def key(self) -> About:
        """What another demand replaces it by."""
        return self.expectation.about


@frozen
class Drop:
    """An inherited demand that is taken away, and why."""

    key: About
    reason: str
    place: KeyPath


@frozen
class ProfileFile:
    """What one file says; `inherits` is empty where it stands by itself, `digest` its SHA-256.

    A base is only there to be inherited.
    """

    name: str
    id: str
    revision: str
    title: str
    digest: str
    inherits: str
    only_inherited: bool
    matches: Match | None
    built_in: BuiltIn
    harmless: tuple[LogRule, ...]
    lacks: tuple[str, ...]
    keyboard_layout: str
    labels: Mapping[str, LabelFormat]
    norm: Mapping[Target, KeyPath]
    options: tuple[PlacedOption, ...]
    demands: tuple[PlacedDemand, ...]
    drops: tuple[Drop, ...]
    parts: tuple[PartDemand, ...] = ()
    connections: tuple[OwnConnection, ...] = ()

    @property
    def source(self) -> SourceFile:
        """How a report names it."""
        return SourceFile(name=self.id, revision=self.revision, digest=self.digest)


def read_profile_file(
    proof: Proofreader, name: str, tree: Table, digest: str
) -> ProfileFile | None:
    """What the file says, with its mistakes noted; None where it is no profile of this format."""
    if not is_format(proof, tree, "profile", PROFILE_FORMAT):
        return None
    proof.known_keys((), tree, PROFILE_KEYS)
    only_inherited = "base" in tree and proof.only_true(("base",), tree["base"])
    stands_alone = "inherits" not in tree
    needed = ("demand",) if stands_alone and not only_inherited else ()
    proof.required((), tree, "id", "revision", "title", *needed)
    identity = read_id(proof, ("id",), tree["id"]) if "id" in tree else ""
    if only_inherited and "matches" in tree:
        proof.note(("matches",), "a base is for no unit; leave this out, or base")
    if tree.get("demand") == []:
        proof.note(("demand",), "nothing is demanded, so nothing could be released")
    origin = f"profile {identity}"
    demands = tuple(_read_demands(proof, tree, origin, name))
    return ProfileFile(
        name=name,
        id=identity,
        revision=read_line(proof, (), tree, "revision"),
        title=read_line(proof, (), tree, "title"),
        digest=digest,
        inherits="" if stands_alone else read_id(proof, ("inherits",), tree["inherits"]),
        only_inherited=only_inherited,
        matches=_read_match(proof, tree["matches"]) if "matches" in tree else None,
        built_in=read_built_in(proof, tree),
        harmless=tuple(
            rule for _, rule, _ in read_lines(proof, ("harmless",), tree.get("harmless", []))
        ),
        lacks=read_lacks(proof, tree),
        keyboard_layout=read_word(proof, (), tree, "keyboard_layout", LAYOUTS),
        labels=read_labels(proof, tree),
        norm=read_norm(proof, tree),
        options=tuple(read_options(proof, tree, origin)),
        demands=demands,
        drops=tuple(_read_drops(proof, tree, is_alone=stands_alone)),
        connections=tuple(read_own_connections(proof, tree)),
        parts=read_parts(proof, tree, origin, (one.expectation for one in demands)),
    )


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


def _read_demands(
    proof: Proofreader, tree: Table, origin: str, file: str
) -> Iterator[PlacedDemand]:
    for path, table in proof.tables(("demand",), tree.get("demand", []), MOST_DEMANDS):
        expectation = read_demand(proof, path, table, origin)
        if expectation is not None:
            yield PlacedDemand(expectation=expectation, file=file, place=path)


def _read_drops(proof: Proofreader, tree: Table, *, is_alone: bool) -> Iterator[Drop]:
    if is_alone and "drop" in tree:
        proof.note(("drop",), "nothing is inherited, so nothing can be taken away")
    for path, table in proof.tables(("drop",), tree.get("drop", []), MOST_DEMANDS):
        proof.known_keys(path, table, DROP_KEYS)
        proof.required(path, table, "class", "reason")
        reason = read_line(proof, path, table, "reason")
        kind = read_word(proof, path, table, "class", tuple(KINDS))
        if not kind:
            continue
        names = tuple(name for name in attributes_of(KINDS[kind]) if name not in OCCUPANCY)
        attribute = read_word(proof, path, table, "attribute", names)
        where = read_where(proof, (*path, "where"), table.get("where", {}), kind)
        yield Drop(key=(kind, attribute, where), reason=reason, place=path)
