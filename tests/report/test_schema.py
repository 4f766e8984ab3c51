"""The schema describes what is written: field by field, and for every example that ships."""

import json
from collections.abc import Iterator
from copy import deepcopy
from dataclasses import fields
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from jsonschema import Draft202012Validator, ValidationError

from closeout.model.attribute import Attribute, Shape, attributes_of
from closeout.model.catalogue import Entry
from closeout.model.device import Device, Position
from closeout.model.expectation import Weight
from closeout.model.finding import Answer, Concession, Finding, Outcome, Reply
from closeout.model.handling import (
    EarlierAttempt,
    HandBack,
    HandBackItem,
    Handling,
    Omission,
    OrderFacts,
    PartChange,
    Revision,
    VoidProof,
)
from closeout.model.inventory import KINDS
from closeout.model.moment import Moment
from closeout.model.profile_signature import ProfileSignature, SignatureState
from closeout.model.reading import STATE_NAMES
from closeout.model.report import Circumstances, Report, SourceFile, Step
from closeout.model.verdict import Verdict
from closeout.report.as_json import render_json
from closeout.report.from_json import load_report
from closeout.report.redact import redact
from strategies.reports import reports
from strategies.sample_report import sample_report

TOP = Path(__file__).parents[2]
SCHEMA = json.loads((TOP / "reports" / "report-1.schema.json").read_text())
EXAMPLES = sorted((TOP / "reports" / "examples").glob("*.json"))

RECORDS = {
    "step": Step,
    "circumstances": Circumstances,
    "source_file": SourceFile,
    "moment": Moment,
    "finding": Finding,
    "answer": Answer,
    "concession": Concession,
    "entry": Entry,
    "handling": Handling,
    "omission": Omission,
    "order_facts": OrderFacts,
    "profile_signature": ProfileSignature,
    "part_change": PartChange,
    "earlier_attempt": EarlierAttempt,
    "revision": Revision,
    "void_proof": VoidProof,
    "hand_back": HandBack,
    "hand_back_item": HandBackItem,
}
READINGS = {
    Shape.TEXT: "text_reading",
    Shape.VERSION: "text_reading",
    Shape.INTEGER: "integer_reading",
    Shape.FLAG: "flag_reading",
    Shape.TEXTS: "texts_reading",
}


def close(schema: dict[str, Any]) -> dict[str, Any]:
    """The schema with no room for a key that it does not describe."""
    closed = deepcopy(schema)
    for part in walk(closed):
        if part.get("type") == "object" and "properties" in part:
            part.setdefault("additionalProperties", False)
    kinds = closed["properties"]["inventory"]
    kinds["additionalProperties"] = False
    for kind in kinds["properties"].values():
        attributes_in(kind)["additionalProperties"] = False
    return closed


def walk(schema: dict[str, Any] | list[Any]) -> Iterator[dict[str, Any]]:
    """Every object in the schema."""
    if isinstance(schema, dict):
        yield schema
    for part in schema.values() if isinstance(schema, dict) else schema:
        if isinstance(part, dict | list):
            yield from walk(part)


def attributes_in(section: dict[str, Any]) -> dict[str, Any]:
    """The schema of the attributes of a kind."""
    return section["properties"]["devices"]["items"]["properties"]["attributes"]


CLOSED = Draft202012Validator(close(SCHEMA))


def names(record: type) -> list[str]:
    return [field.name for field in fields(record)]


def test_the_schema_is_one() -> None:
    Draft202012Validator.check_schema(SCHEMA)


@pytest.mark.parametrize("name", RECORDS)
def test_a_record_has_the_schema_s_keys(name: str) -> None:
    described = SCHEMA["$defs"][name]
    assert list(described["properties"]) == names(RECORDS[name])
    assert described["required"] == names(RECORDS[name])


def test_the_report_has_the_schema_s_keys() -> None:
    assert set(SCHEMA["properties"]) == {"report", *names(Report)}
    assert list(SCHEMA["properties"]) == list(json.loads(render_json(sample_report())))
    assert SCHEMA["required"] == list(SCHEMA["properties"])


def test_a_device_has_the_schema_s_keys() -> None:
    assert list(SCHEMA["$defs"]["device"]["properties"]) == [*names(Device), "attributes"]


def test_words_are_the_schema_s() -> None:
    finding = SCHEMA["$defs"]["finding"]["properties"]
    described = {
        Verdict: SCHEMA["properties"]["verdict"],
        Weight: finding["weight"],
        Outcome: finding["outcome"],
        Reply: SCHEMA["$defs"]["answer"]["properties"]["reply"],
        SignatureState: SCHEMA["$defs"]["profile_signature"]["properties"]["state"],
        Position: SCHEMA["$defs"]["device"]["properties"]["position"],
    }
    for words, part in described.items():
        assert part["enum"] == [word.value for word in words]
    states = SCHEMA["$defs"]["reading"]["properties"]["state"]["enum"]
    assert states == list(STATE_NAMES.values())


@pytest.mark.parametrize("kind", KINDS)
def test_a_kind_has_the_schema_s_attributes(kind: str) -> None:
    described = attributes_in(SCHEMA["properties"]["inventory"]["properties"][kind])
    attributes = attributes_of(KINDS[kind])
    assert described["properties"] == {
        name: describe(attribute) for name, attribute in attributes.items()
    }


def test_the_schema_knows_every_kind() -> None:
    assert list(SCHEMA["properties"]["inventory"]["properties"]) == list(KINDS)


def describe(attribute: Attribute) -> dict[str, str]:
    """What the schema says of an attribute."""
    unit = f" [{attribute.unit}]" if attribute.unit else ""
    personal = "; personal" if attribute.personal else ""
    reading = READINGS[attribute.shape]
    if attribute.personal and attribute.shape is Shape.INTEGER:
        reading = f"masked_{reading}"
    return {
        "description": f"{attribute.meaning}{unit}{personal}",
        "$ref": f"#/$defs/{reading}",
    }


@settings(max_examples=50)
@given(reports)
def test_any_report_fits(report: Report) -> None:
    CLOSED.validate(json.loads(render_json(report)))


def test_a_redacted_report_fits() -> None:
    CLOSED.validate(json.loads(render_json(redact(sample_report()))))


def test_the_closed_schema_refuses_a_key_too_many() -> None:
    tree = json.loads(render_json(sample_report()))
    for place in (tree, tree["findings"][0], tree["inventory"]["battery"]["devices"][0]):
        place["mood"] = 1
        with pytest.raises(ValidationError):
            CLOSED.validate(tree)
        del place["mood"]
    CLOSED.validate(tree)


@pytest.mark.parametrize("state", list(STATE_NAMES.values()))
def test_a_state_without_its_reason_is_refused(state: str) -> None:
    tree = json.loads(render_json(sample_report()))
    battery = tree["inventory"]["battery"]["devices"][0]
    battery["attributes"]["cycle_count"] = {"state": state, "sources": []}
    with pytest.raises(ValidationError):
        CLOSED.validate(tree)


@pytest.mark.parametrize("path", EXAMPLES, ids=lambda path: path.stem)
def test_every_example_fits_and_loads(path: Path) -> None:
    raw = path.read_bytes()
    CLOSED.validate(json.loads(raw))
    assert render_json(load_report(raw)) == raw
