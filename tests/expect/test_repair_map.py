"""The repair map: what ships, and every mistake that such a file can have."""

import json
import tomllib
from copy import deepcopy
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from closeout.expect import repair_map as module
from closeout.expect.document import read_document
from closeout.expect.load import parse_any
from closeout.expect.mistake import Mistakes
from closeout.expect.repair_map import load_repair_map, parse_repair_map
from closeout.expect.shipped import ShippedFileError, shipped_folder
from closeout.expect.vocabulary import REPAIRS
from closeout.model.catalogue import Entry
from closeout.model.expectation import Weight
from closeout.model.repair_map import RepairMap
from strategies.profiles import spoilt

FILE = shipped_folder("profiles") / "repairs" / "map.toml"
RAW = FILE.read_bytes()
MAP = load_repair_map()
LEAST = {
    "repair_map": 1,
    "id": "repairs",
    "revision": "1",
    "connection": [
        {
            "id": "plug",
            "name": "plug",
            "place": "at the board",
            "carries": "power",
            "fails": ["left out"],
            "proof": "it answers",
            "touches": ["battery"],
            "question": "Is it in?",
            "weight": "must",
            "seconds": 5,
        }
    ],
    "repair": [{"id": name, "title": name, "disturbs": ["plug"]} for name in REPAIRS],
}


def parse(tree: dict[str, Any]) -> RepairMap | Mistakes:
    return parse_repair_map("map.json", json.dumps(tree).encode())


def wrong(**changes: object) -> list[str]:
    found = parse({**LEAST, **changes})
    assert isinstance(found, Mistakes)
    return [f"{mistake.key}: {mistake.wrong}" for mistake in found.found]


def connection(**changes: object) -> list[dict[str, object]]:
    plain = LEAST["connection"][0]  # type: ignore[index]  # a list, as written above
    return [{key: value for key, value in {**plain, **changes}.items() if value is not None}]


def test_every_repair_is_in_it_and_disturbs_something() -> None:
    assert tuple(MAP.repairs) == REPAIRS
    assert all(repair.disturbs for repair in MAP.repairs.values())


def test_every_connection_has_a_proof_and_says_how_it_fails() -> None:
    for each in MAP.connections.values():
        assert each.demands or each.question, each.id
        assert each.fails, each.id
        assert all(demand.review_only for demand in each.demands), each.id
        entry = each.entry()
        assert entry == Entry(**vars(entry))
        assert entry.answerable is True
        assert each.place in entry.advice
        assert entry.caution


def test_the_least_map_is_read() -> None:
    found = parse(LEAST)
    assert isinstance(found, RepairMap)
    (plug,) = found.connections.values()
    assert plug.weight is Weight.MUST
    assert plug.seconds == 5
    assert found.source.name == "repairs"


@pytest.mark.parametrize(
    ("changes", "said"),
    [
        ({"repair_map": 2}, "repair_map: format 2 is not known here; allowed: 1"),
        ({"more": 1}, "more: no such key"),
        ({"connection": connection(question=None, weight=None)}, "neither a demand nor a question"),
        ({"connection": connection(weight=None)}, "a question wants a weight and its seconds"),
        ({"connection": connection(seconds=0)}, "a question wants a weight and its seconds"),
        ({"connection": connection(seconds=601)}, "more than 600"),
        ({"connection": connection(fails=[])}, "nothing is said"),
        ({"connection": connection(id="Plug!")}, "is not allowed"),
        ({"connection": connection(id=None)}, "missing"),
        ({"connection": connection(touches=["batery"])}, "did you mean battery?"),
        ({"connection": connection() * 2}, "plug is there already"),
        ({"connection": [*connection(), *connection(id="idle")]}, "no repair disturbs idle"),
        ({"connection": connection(demand=[{"class": "drive"}])}, "weight: missing"),
        ({"connection": connection(name=7)}, "text is wanted"),
        ({"repair": []}, "system-board is missing"),
        ({"repair": [{"id": "roof", "title": "Roof", "disturbs": ["plug"]}]}, "not known here"),
        (
            {"repair": [{"id": "drive", "title": "Drive", "disturbs": ["plugs"]}]},
            "did you mean plug?",
        ),
        ({"repair": [*LEAST["repair"], *LEAST["repair"][:1]]}, "system-board is there already"),  # type: ignore[index, misc]
    ],
)
def test_each_mistake_is_told(changes: dict[str, object], said: str) -> None:
    assert any(said in line for line in wrong(**changes)), wrong(**changes)


def test_a_file_without_its_parts_is_a_mistake() -> None:
    found = parse({"repair_map": 1})
    assert isinstance(found, Mistakes)
    assert {mistake.key for mistake in found.found} >= {"id", "revision", "connection", "repair"}
    assert isinstance(parse_repair_map("map.toml", b"= 1"), Mistakes)


def test_it_is_linted_as_any_other_file() -> None:
    assert parse_any("map.toml", RAW) == MAP
    assert isinstance(parse_any("map.json", b'{"repair_map": 3}'), Mistakes)


@given(st.data())
def test_a_spoilt_map_is_a_map_or_its_mistakes(data: st.DataObject) -> None:
    tree = data.draw(spoilt(st.builds(deepcopy, st.just(LEAST))))
    raw = json.dumps(tree).encode()
    assert isinstance(read_document("map.json", raw).tree, dict)
    assert isinstance(parse_repair_map("map.json", raw), RepairMap | Mistakes)


def test_an_installation_without_it_is_not_whole(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(module, "shipped_folder", lambda _: tmp_path)
    with pytest.raises(ShippedFileError, match=r"repairs/map.toml: No such file"):
        load_repair_map()
    (tmp_path / "repairs").mkdir()
    (tmp_path / "repairs" / "map.toml").write_bytes(b"repair_map = 1\n")
    with pytest.raises(ShippedFileError, match="missing"):
        load_repair_map()


def test_the_file_names_no_question_without_an_end() -> None:
    tree = tomllib.loads(RAW.decode())
    for each in tree["connection"]:
        assert "question" not in each or "?" in each["question"], each["id"]
