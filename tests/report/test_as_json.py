"""A report survives the way to JSON and back, and nothing else is taken for one."""

import json
import subprocess
import sys
from collections.abc import Iterator
from contextlib import suppress
from dataclasses import replace
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from closeout.model.inventory import Inventory
from closeout.model.reading import Unreadable, Value
from closeout.model.report import Report
from closeout.report.as_json import render_inventory_json, render_json
from closeout.report.failure import ReportError
from closeout.report.from_json import load_report
from closeout.report.json_text import DEEPEST, LARGEST
from closeout.report.redact import redact
from strategies.reports import inventories, reports, with_texts
from strategies.sample_report import sample_report


def tree_of(report: Report) -> dict:
    return json.loads(render_json(report))


def load_tree(tree: object) -> Report:
    return load_report(json.dumps(tree).encode())


@given(reports)
def test_any_report_comes_back(report: Report) -> None:
    raw = render_json(report)
    assert load_report(raw) == report
    assert render_json(load_report(raw)) == raw


def test_a_redacted_report_comes_back() -> None:
    redacted = redact(sample_report())
    assert load_report(render_json(redacted)) == redacted


@given(inventories)
def test_the_inventory_alone_is_the_report_s(inventory: Inventory) -> None:
    alone = json.loads(render_inventory_json(inventory))
    report = replace(sample_report(), inventory=inventory)
    assert alone == {"inventory": tree_of(report)["inventory"]}


def test_it_is_a_text_file_that_begins_with_the_verdict() -> None:
    raw = render_json(sample_report())
    assert raw.startswith(b'{\n "report": 1,\n "verdict": "hold",\n')
    assert raw.endswith(b"}\n")
    assert "µWh" in raw.decode()


def test_units_and_sources_stand_beside_values() -> None:
    battery = tree_of(sample_report())["inventory"]["battery"]["devices"][0]
    assert battery["attributes"]["energy_full_uwh"] == {
        "state": "value",
        "value": 47_320_000,
        "unit": "µWh",
        "sources": ["LNXSYSTM:00/PNP0C0A:00/energy_full_uwh"],
    }


def test_a_surrogate_becomes_its_spelling() -> None:
    report = with_texts(sample_report(), lambda text: text + "\udcff")
    loaded = load_report(render_json(report))
    assert loaded.circumstances.order == r"WO-20417\udcff"


def test_a_key_of_a_newer_version_is_left_alone() -> None:
    tree = tree_of(sample_report())
    tree["mood"] = "good"
    tree["findings"][0]["mood"] = {"a": [1]}
    tree["inventory"]["holodeck"] = {"listing": 4}
    attributes = tree["inventory"]["battery"]["devices"][0]["attributes"]
    attributes["mood"] = {"state": "value", "value": 7, "sources": []}
    assert load_tree(tree) == sample_report()


def test_an_attribute_that_an_old_report_lacks_is_not_read() -> None:
    tree = tree_of(sample_report())
    del tree["inventory"]["battery"]["devices"][0]["attributes"]["cycle_count"]
    battery = load_tree(tree).inventory.section("battery").devices[0]
    assert isinstance(battery.cycle_count, Unreadable)
    assert battery.cycle_count.error == "NOT_READ"


def test_a_kind_that_an_old_report_lacks_is_not_read() -> None:
    tree = tree_of(sample_report())
    del tree["inventory"]["battery"]
    assert isinstance(load_tree(tree).inventory.section("battery").listing, Unreadable)


BAD_BYTES = {
    b"": "not JSON at line 1, column 1",
    b"\xff\xfe": "not UTF-8 at byte 0",
    b"[]": "an object was expected",
    b'{"report": 2}': "report: format 2 is not known here; format 1 is",
    b'{"report": true}': "report: a whole number was expected",
    b'{"report": 1.5}': "1.5 is not a whole number",
    b'{"report": NaN}': "NaN is not a whole number",
    b'{"report": ' + b"9" * 5000 + b"}": "a number has too many digits",
    b'{"report": 1}': "verdict: is missing",
    b"[" * (DEEPEST + 1): f"nested deeper than {DEEPEST}",
    b'{"a":' * 100_000: f"nested deeper than {DEEPEST}",
    b" " * (LARGEST + 1): f"larger than {LARGEST} bytes",
}


@pytest.mark.parametrize("raw", BAD_BYTES, ids=lambda raw: repr(raw[:14]))
def test_bad_input_is_one_clear_error(raw: bytes) -> None:
    with pytest.raises(ReportError) as failure:
        load_report(raw)
    assert str(failure.value).startswith(BAD_BYTES[raw])


def test_brackets_in_a_text_are_not_depth() -> None:
    report = replace(sample_report(), reasons=("[" * 100 + '\\"' + "{" * 100,))
    assert load_report(render_json(report)) == report


def test_quotes_without_an_end_take_no_time() -> None:
    with pytest.raises(ReportError, match="not JSON"):
        load_report(b'"' + b'\\"' * 2_000_000)


BAD_FIELDS = [
    (("verdict",), "maybe", "verdict: one of release, hold, undecided was expected"),
    (("reasons",), [1], "reasons: a list of texts was expected"),
    (("reasons",), "x", "reasons: a list was expected"),
    (("redacted",), 1, "redacted: true or false was expected"),
    (("circumstances", "attempt"), "2", "circumstances.attempt: a whole number was expected"),
    (("findings", 3, "weight"), "x", "findings[3].weight: one of must, should, note was expected"),
    (("findings", 3), 5, "findings[3]: an object was expected"),
    (("circumstances", "started"), None, "circumstances.started: an object was expected"),
]


@pytest.mark.parametrize(("keys", "value", "message"), BAD_FIELDS)
def test_the_error_names_the_place(keys: tuple, value: object, message: str) -> None:
    tree = place = tree_of(sample_report())
    for key in keys[:-1]:
        place = place[key]
    place[keys[-1]] = value
    with pytest.raises(ReportError) as failure:
        load_tree(tree)
    assert str(failure.value) == message


BAD_READINGS = [
    ({"state": "value", "value": "7", "sources": []}, "a value of shape integer was expected"),
    ({"state": "value", "value": True, "sources": []}, "a value of shape integer was expected"),
    ({"state": "value", "sources": []}, "a value of shape integer was expected"),
    ({"state": "gone", "sources": []}, "one of value, blank, filler, absent, unreadable"),
    ({"state": "blank", "reason": "x"}, "is missing"),
]


@pytest.mark.parametrize(("reading", "message"), BAD_READINGS)
def test_a_reading_has_its_shape(reading: dict, message: str) -> None:
    tree = tree_of(sample_report())
    battery = tree["inventory"]["battery"]["devices"][0]
    battery["attributes"]["cycle_count"] = reading
    with pytest.raises(ReportError, match=message):
        load_tree(tree)


def test_a_listing_is_never_blank() -> None:
    tree = tree_of(sample_report())
    blank = {"state": "blank", "reason": "x", "sources": []}
    tree["inventory"]["battery"]["listing"] = blank
    with pytest.raises(ReportError, match=r"listing\.state"):
        load_tree(tree)


junk = st.sampled_from([None, 0, -1, "", "x", [], {}, True, [[]], {"state": "value"}])


def slots(tree: dict | list) -> Iterator[tuple[Any, Any]]:
    """Every container in the tree with each of its keys."""
    keys = tree if isinstance(tree, dict) else range(len(tree))
    for key in keys:
        yield tree, key
        if isinstance(tree[key], dict | list):
            yield from slots(tree[key])


@given(st.integers(min_value=0), junk)
def test_a_damaged_report_loads_or_says_what_is_wrong(number: int, value: object) -> None:
    tree = tree_of(sample_report())
    places = list(slots(tree))
    container, key = places[number % len(places)]
    container[key] = value
    with suppress(ReportError):
        load_tree(tree)


@given(st.binary(max_size=60))
def test_any_bytes_are_a_report_or_one_error(raw: bytes) -> None:
    with pytest.raises(ReportError):
        load_report(raw)


def test_a_value_of_a_list_has_its_order() -> None:
    strings = load_report(render_json(sample_report())).inventory.section("oem_strings")
    assert strings.devices[0].strings == Value(
        value=("ASM-2025", "DOCK-READY"), sources=("dmi/11/strings",)
    )


def test_json_needs_neither_page_nor_console() -> None:
    code = (
        "import sys, closeout.report.as_json, closeout.report.redact, closeout.report.store;"
        "others = {'rich', 'closeout.report.page', 'closeout.report.console'};"
        "print(sorted(others & set(sys.modules)))"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout == "[]\n"
