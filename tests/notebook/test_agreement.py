"""What tools said in three notebooks, as recorded, beside what today's readers make of evidence."""

import copy
import json
import tomllib
from collections import Counter
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any

import pytest

from closeout.model.attribute import attributes_of
from closeout.model.inventory import KINDS
from notebook.agreement import CLAIMS, all_claims, compared, disagreements
from notebook.console_text import console_disagreements
from notebook.description import load_notebook
from notebook.known_differences import (
    KNOWN,
    LEAST,
    NO_ATTRIBUTE_YET,
    NOT_COMPARED,
    ONE_A_UNIT,
    RECORDED,
    least_compared,
)
from notebook.opinions import ORDINARY_USER, QUESTIONS, ToolOutput, ordinary_questions
from notebook.recorded_answers import FIXTURES, Answers, read_answers
from notebook.shown import EVERY, Claim
from strategies.surroundings import call_in

USERS = ("root", ORDINARY_USER)


@dataclass(frozen=True, slots=True, kw_only=True)
class Session:
    """What a user was told in a notebook: by the tools, and by our readers as JSON and words."""

    outputs: Mapping[str, ToolOutput]
    inventory: Mapping[str, Any]
    words: str

    def claims(self) -> tuple[Claim, ...]:
        """Everything that is compared."""
        return all_claims(self.inventory, self.outputs)


@pytest.fixture(params=[(name, user) for name in RECORDED for user in USERS], ids="-".join)
def recorded_as(request: pytest.FixtureRequest) -> tuple[str, str]:
    """A notebook and a user."""
    name, user = request.param
    return name, user


@pytest.fixture
def session(recorded_as: tuple[str, str]) -> Session:
    return recorded(*recorded_as)


@cache
def recorded(name: str, user: str) -> Session:
    """The session as recorded, read by today's readers on lines that are not wrapped."""
    folder = FIXTURES / name / user
    evidence = ("--evidence", folder / "unit.jsonl.gz")
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("COLUMNS", "1000")
        words = call_in(Path(), "show", *evidence).out
    answers: Answers = read_answers(folder)
    return Session(
        outputs=answers.outputs,
        inventory=json.loads(call_in(Path(), "show", "--json", *evidence).raw)["inventory"],
        words=words,
    )


def test_the_tools_agree(session: Session) -> None:
    assert disagreements(session.inventory, session.outputs) == []


def test_the_words_say_what_the_json_says(session: Session) -> None:
    assert console_disagreements(session.words, session.inventory) == []


def test_as_much_is_compared_as_ever(recorded_as: tuple[str, str]) -> None:
    found, least = compared(recorded(*recorded_as).claims()), least_compared(*recorded_as)
    assert least - found == Counter()
    assert found.keys() <= least.keys()


def test_every_question_was_put(session: Session) -> None:
    assert set(session.outputs) in (set(QUESTIONS), set(ordinary_questions()))


def test_every_tool_is_compared_or_waits() -> None:
    asked = {tool for needed in CLAIMS.values() for tool in needed}
    assert asked | NO_ATTRIBUTE_YET.keys() == QUESTIONS.keys()
    assert not asked & NO_ATTRIBUTE_YET.keys()
    assert asked == LEAST.keys()


def test_every_attribute_is_compared_or_has_a_reason() -> None:
    found = {
        (claim.kind, claim.attribute)
        for name in RECORDED
        for claim in recorded(name, "root").claims()
        if claim.label != EVERY
    }
    there_are = {(kind, name) for kind, record in KINDS.items() for name in attributes_of(record)}
    assert there_are - found == NOT_COMPARED.keys()
    assert found <= there_are


def test_every_known_difference_is_seen() -> None:
    claims = [claim for name in RECORDED for claim in recorded(name, "root").claims()]
    unseen = [known for known in KNOWN if not any(map(known.covers, claims))]
    assert unseen == []
    assert all(known.told != known.shown for known in KNOWN)


def test_the_agents_own_second_opinions_found_nothing() -> None:
    for name in RECORDED:
        (device,) = recorded(name, "root").inventory["second_opinions"]["devices"]
        values = [reading.get("value") for reading in device["attributes"].values()]
        assert values == [[], [], []], name


def test_every_claim_fails_where_nothing_could_be_read(session: Session) -> None:
    unread = copy.deepcopy(session.inventory)
    for section in unread.values():
        section["listing"] = {"state": "unreadable", "error": "EIO"}
        for device in section["devices"]:
            device["attributes"] = {
                name: {"state": "unreadable", "error": "EIO"} for name in device["attributes"]
            }
    _assert_all_fail(session, unread)


def test_every_claim_fails_where_no_device_is_shown(session: Session) -> None:
    nothing = {
        kind: {"listing": {"state": "absent", "reason": ""}, "devices": []}
        for kind in session.inventory
    }
    _assert_all_fail(session, nothing)


@pytest.mark.unmeasured
@pytest.mark.parametrize("name", RECORDED)
def test_a_device_that_is_not_shown_is_missed(name: str) -> None:
    session = recorded(name, "root")
    for kind in session.inventory:
        for index, device in enumerate(session.inventory[kind]["devices"]):
            fewer = copy.deepcopy(session.inventory)
            del fewer[kind]["devices"][index]
            lines = disagreements(fewer, session.outputs)
            missed = any(line.startswith(f"{kind} ") for line in lines)
            assert missed == (kind not in ONE_A_UNIT), (kind, device["label"])


def _assert_all_fail(session: Session, inventory: Mapping[str, Any]) -> None:
    claims = all_claims(inventory, session.outputs)
    assert [claim.as_line() for claim in claims if claim.agrees] == []
    assert len(disagreements(inventory, session.outputs)) == len(claims)
    told = {(claim.tool, claim.kind, claim.attribute) for claim in session.claims()}
    assert {(claim.tool, claim.kind, claim.attribute) for claim in claims} == told


@pytest.mark.parametrize("name", RECORDED)
def test_tools_that_wait_say_what_was_described(name: str) -> None:
    outputs, notebook = recorded(name, "root").outputs, load_notebook(name)
    assert notebook.touchpad
    for tool in ("input-devices", "evtest"):
        assert f'"{notebook.touchpad.name}"' in outputs[tool].text
        assert '"AT Translated Set 2 keyboard"' in outputs[tool].text
        assert '"Lid Switch"' in outputs[tool].text
    assert ('value: "2.0"' in outputs["tpm2"].text) == bool(notebook.tpm)
    assert len(recorded(name, "root").inventory["sound_card"]["devices"]) == bool(notebook.audio)
    assert list(_warnings(outputs["nvme-smart-log"].text)) == [
        drive.critical_warning for drive in notebook.drive.values() if drive.bus == "nvme"
    ]


def _warnings(text: str) -> Iterator[int]:
    for line in text.split("\n"):
        if line.startswith("critical_warning"):
            yield int(line.split(":")[1], 16)


@pytest.mark.parametrize("name", RECORDED)
def test_the_bluetooth_address_is_that_of_the_description(name: str) -> None:
    (controller,) = recorded(name, "root").inventory["bluetooth"]["devices"]
    told = controller["attributes"]["mac"]
    assert told["value"] == load_notebook(name).usb["bluetooth"].address


def test_versions_are_recorded() -> None:
    for name in RECORDED:
        versions = tomllib.loads((FIXTURES / name / "versions.toml").read_text("utf-8"))
        asked = {question.of for question in QUESTIONS.values()}
        assert versions["tools"].keys() == asked | {"kernel", "python"}
        assert all(any(map(str.isdigit, told)) for told in versions["tools"].values())
        assert {"dmidecode", "nvme-cli", "udev", "python3"} <= versions["packages"].keys()
