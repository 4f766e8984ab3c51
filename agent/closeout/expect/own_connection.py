"""What a profile says of connections in the repair map's place: where they are on this model.

    [[connection]]
    id = "touchpad-ribbon"
    place = "under the pack, at the middle of the board; its latch opens upwards"

What is not given stays as the map has it.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from typing import Final

from closeout.expect.demand import read_line
from closeout.expect.proofreader import Proofreader
from closeout.expect.scalar import Table
from closeout.expect.vocabulary import (
    CONNECTION_PATTERN,
    CONNECTION_RULE,
    LONGEST_TELLING,
    MOST_PARTS,
)
from closeout.model.frozen import frozen, replace
from closeout.model.repair_map import Connection, RepairMap

WORDS: Final = ("name", "place", "carries", "proof", "question", "caution")
OWN_KEYS: Final = ("id", *WORDS)


@frozen
class OwnConnection:
    """The words of one connection that a model has of its own, by the map's keys."""

    id: str
    words: Mapping[str, str]


def read_own_connections(proof: Proofreader, tree: Table) -> Iterator[OwnConnection]:
    """What stands under `[[connection]]` of a profile."""
    seen: set[str] = set()
    for path, table in proof.tables(("connection",), tree.get("connection", []), MOST_PARTS):
        proof.known_keys(path, table, OWN_KEYS)
        if not proof.required(path, table, "id"):
            continue
        name = proof.matching((*path, "id"), table["id"], CONNECTION_PATTERN, CONNECTION_RULE) or ""
        if name in seen:
            proof.note((*path, "id"), f"{name} is there already")
        seen.add(name)
        told = {key: read_line(proof, path, table, key, LONGEST_TELLING) for key in WORDS}
        words = {key: text for key, text in told.items() if text}
        if not words:
            proof.note(path, "nothing is said of it; give one of its words, or leave it out")
        yield OwnConnection(id=name, words=words)


def with_own_connections(repair_map: RepairMap, own: Iterable[OwnConnection]) -> RepairMap:
    """The map with the model's words in it; what the map does not know is left out."""
    changed = dict(repair_map.connections)
    for each in own:
        if each.id in changed:
            changed[each.id] = _with_words(changed[each.id], each.words)
    return replace(repair_map, connections=changed)


def _with_words(connection: Connection, words: Mapping[str, str]) -> Connection:
    renamed = replace(connection, **words)
    demands = tuple(
        replace(demand, connection=renamed.where)
        if demand.connection == connection.where
        else demand
        for demand in connection.demands
    )
    return replace(renamed, demands=demands)
