"""The shipped repair map, and how its file is read: `repairs/map.toml`, format 1.

A `[[connection]]` says what a cable, ribbon or part carries, how it fails and what proves it good:
by `[[connection.demand]]`, as in a profile, where what is not met asks a person, and by a
`question`. A `[[repair]]` names the connections that it disturbs.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from hashlib import sha256
from typing import Final

from closeout.expect.demand import WEIGHTS, read_demand, read_line, read_word
from closeout.expect.document import Document, read_document
from closeout.expect.mistake import KeyPath, Mistakes
from closeout.expect.profile import is_format, read_id
from closeout.expect.proofreader import Proofreader
from closeout.expect.scalar import Table
from closeout.expect.shipped import ShippedFileError, shipped_folder
from closeout.expect.vocabulary import ID_PART, ID_RULE, LONGEST_TELLING, MOST_PARTS, REPAIRS
from closeout.model.expectation import Expectation, Weight
from closeout.model.frozen import replace
from closeout.model.inventory import KINDS
from closeout.model.repair_map import Connection, Repair, RepairMap
from closeout.model.report import SourceFile

MAP_FORMAT: Final = 1
FOLDER: Final = "repairs"
FILE: Final = "map.toml"
MAP_KEYS: Final = ("repair_map", "id", "revision", "connection", "repair")
LONG_TEXTS: Final = ("place", "carries", "proof", "question", "caution")
CONNECTION_KEYS: Final = (
    "id",
    "name",
    *LONG_TEXTS,
    "fails",
    "touches",
    "demand",
    "weight",
    "seconds",
)
NEEDED: Final = ("id", "name", "place", "carries", "fails", "proof", "touches")
REPAIR_KEYS: Final = ("id", "title", "disturbs")
MOST_SECONDS: Final = 600


def load_repair_map() -> RepairMap:
    """The shipped map; raises `ShippedFileError` where it has a mistake or is missing."""
    path = shipped_folder("profiles") / FOLDER / FILE
    try:
        raw = path.read_bytes()
    except OSError as failure:
        raise ShippedFileError(f"{FOLDER}/{FILE}: {failure.strerror}") from None
    found = parse_repair_map(f"{FOLDER}/{FILE}", raw)
    if isinstance(found, Mistakes):
        raise ShippedFileError(found.show())
    return found


def parse_repair_map(name: str, raw: bytes) -> RepairMap | Mistakes:
    """The map in a file's bytes, or every mistake in it."""
    document = read_document(name, raw)
    if isinstance(document, Mistakes):
        return document
    return build_repair_map(document, sha256(raw).hexdigest())


def build_repair_map(document: Document, digest: str) -> RepairMap | Mistakes:
    """The map in a well-formed document, or every mistake in it."""
    tree = document.tree
    proof = Proofreader(document)
    if not is_format(proof, tree, "repair_map", MAP_FORMAT):
        return proof.mistakes() or Mistakes(found=())
    proof.known_keys((), tree, MAP_KEYS)
    proof.required((), tree, "id", "revision", "connection", "repair")
    name = read_id(proof, ("id",), tree["id"]) if "id" in tree else ""
    revision = read_line(proof, (), tree, "revision")
    origin = f"repair map {revision}"
    connections = dict(_read_connections(proof, tree, origin))
    repairs = dict(_read_repairs(proof, tree, connections))
    _note_left_out(proof, connections, repairs)
    source = SourceFile(name=name, revision=revision, digest=digest)
    return proof.mistakes() or RepairMap(source=source, connections=connections, repairs=repairs)


def _read_connections(
    proof: Proofreader, tree: Table, origin: str
) -> Iterator[tuple[str, Connection]]:
    seen: set[str] = set()
    for path, table in proof.tables(("connection",), tree.get("connection", []), MOST_PARTS):
        connection = _read_connection(proof, path, table, origin)
        if connection.id and connection.id in seen:
            proof.note((*path, "id"), f"{connection.id} is there already")
        seen.add(connection.id)
        yield connection.id, connection


def _read_connection(proof: Proofreader, path: KeyPath, table: Table, origin: str) -> Connection:
    proof.known_keys(path, table, CONNECTION_KEYS)
    proof.required(path, table, *NEEDED)
    texts = {key: read_line(proof, path, table, key, LONGEST_TELLING) for key in LONG_TEXTS}
    name = read_line(proof, path, table, "name")
    weight = read_word(proof, path, table, "weight", WEIGHTS)
    seconds = proof.number((*path, "seconds"), table["seconds"]) if "seconds" in table else 0
    if (seconds or 0) > MOST_SECONDS:
        proof.note((*path, "seconds"), f"more than {MOST_SECONDS} is no question at the bench")
    if texts["question"] and not (weight and seconds):
        proof.note((*path, "question"), "a question wants a weight and its seconds beside it")
    demands = _read_demands(proof, path, table, f"{name}, {texts['place']}", origin)
    if not demands and not texts["question"]:
        proof.note(path, "neither a demand nor a question, so nothing could prove it good")
    return Connection(
        id=_read_id(proof, path, table),
        name=name,
        fails=_read_texts(proof, (*path, "fails"), table.get("fails", [])),
        touches=_read_kinds(proof, (*path, "touches"), table.get("touches", [])),
        demands=demands,
        weight=Weight(weight or Weight.NOTE.value),
        seconds=seconds or 0,
        **texts,
    )


def _read_demands(
    proof: Proofreader, path: KeyPath, table: Table, connection: str, origin: str
) -> tuple[Expectation, ...]:
    """A unit of no known model may have no such part: what is not met asks a person."""
    place = (*path, "demand")
    read = [
        read_demand(proof, at, demand, origin)
        for at, demand in proof.tables(place, table.get("demand", []), MOST_PARTS)
    ]
    return tuple(
        replace(demand, review_only=True, connection=demand.connection or connection)
        for demand in read
        if demand is not None
    )


def _read_repairs(
    proof: Proofreader, tree: Table, connections: Mapping[str, Connection]
) -> Iterator[tuple[str, Repair]]:
    seen: set[str] = set()
    for path, table in proof.tables(("repair",), tree.get("repair", []), MOST_PARTS):
        proof.known_keys(path, table, REPAIR_KEYS)
        proof.required(path, table, *REPAIR_KEYS)
        name = read_word(proof, path, table, "id", REPAIRS)
        if name and name in seen:
            proof.note((*path, "id"), f"{name} is there already")
        seen.add(name)
        listed = proof.items((*path, "disturbs"), table.get("disturbs", []), MOST_PARTS)
        disturbs = tuple(proof.choice(at, item, connections) or "" for at, item in listed)
        yield name, Repair(id=name, title=read_line(proof, path, table, "title"), disturbs=disturbs)


def _note_left_out(
    proof: Proofreader, connections: Mapping[str, Connection], repairs: Mapping[str, Repair]
) -> None:
    """A repair that no table is about would disturb nothing; a connection of no repair is idle."""
    for name in REPAIRS:
        if name not in repairs:
            proof.note(("repair",), f"{name} is missing")
    disturbed = {name for repair in repairs.values() for name in repair.disturbs}
    for name in connections:
        if name not in disturbed:
            proof.note(("connection",), f"no repair disturbs {name}")


def _read_id(proof: Proofreader, path: KeyPath, table: Table) -> str:
    if "id" not in table:
        return ""
    return proof.matching((*path, "id"), table["id"], ID_PART, ID_RULE) or ""


def _read_texts(proof: Proofreader, path: KeyPath, value: object) -> tuple[str, ...]:
    if value == []:
        proof.note(path, "nothing is said, so there would be nothing to look for")
    return tuple(proof.text(at, item) or "" for at, item in proof.items(path, value, MOST_PARTS))


def _read_kinds(proof: Proofreader, path: KeyPath, value: object) -> tuple[str, ...]:
    listed = proof.items(path, value, MOST_PARTS)
    return tuple(proof.choice(at, item, KINDS) or "" for at, item in listed)
