"""What the ledger indexes of a report: held against the whole record that `load_report` makes."""

import json
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from closeout.depot.facts import LONGEST, Facts, parse_report_facts, parse_unrun_facts
from closeout.depot.identities import board_of
from closeout.depot.tables import finding, identity, part, report, step
from closeout.expect.shipped import shipped_folder
from closeout.model.finding import Outcome
from closeout.report.as_json import render_json
from closeout.report.failure import ReportError
from closeout.report.from_json import load_report
from closeout.report.json_text import LARGEST
from closeout.report.redact import redact
from strategies.depot_reports import (
    circumstances,
    device,
    raw_of,
    section,
    tree_of,
    uuid_of,
)
from strategies.depot_reports import (
    finding as failed,
)

DIGEST = "d" * 64
EXAMPLES = sorted((shipped_folder("reports") / "examples").glob("*.json"))


def facts_of(tree: object) -> Facts:
    """The facts of a report that is made here."""
    return parse_report_facts(raw_of(tree), DIGEST)


def circumstanced(**changes: object) -> dict[str, Any]:
    """A report with other circumstances."""
    return tree_of(circumstances=circumstances(**changes))


@pytest.mark.parametrize("example", EXAMPLES, ids=lambda path: path.stem)
def test_the_facts_are_those_of_the_whole_record(example: Path) -> None:
    raw = example.read_bytes()
    whole = load_report(raw)
    facts = parse_report_facts(raw, DIGEST)
    row, held = facts.report, whole.circumstances
    assert row["verdict"] == whole.verdict.value
    assert (row["agent"], row["work_order"], row["attempt"]) == (
        *(held.agent, held.order, held.attempt),
    )
    assert (row["model"], row["profile_digest"]) == (held.profile.name, held.profile.digest)
    assert row["profile_set"] == (held.profile_set.revision if held.profile_set else "")
    assert row["evidence_digest"] == held.evidence_digest
    assert row["revision"] == whole.revision
    assert row["repairs"] == "+".join(sorted(held.repairs))
    said = [
        (number, one.rule, one.outcome.value, one.expected, one.found, one.connection)
        for number, one in enumerate(whole.findings, start=1)
        if one.outcome is not Outcome.PASS
    ]
    names = ("number", "rule", "outcome", "expected", "found", "connection")
    assert [tuple(each[name] for name in names) for each in facts.findings] == said
    assert [each["title"] for each in facts.steps] == [one.title for one in whole.first_steps]
    assert [each["serial"] for each in facts.parts] == [
        one.serial for one in held.order_facts.parts
    ]


@pytest.mark.parametrize("example", EXAMPLES, ids=lambda path: path.stem)
def test_a_redacted_copy_tells_no_identity(example: Path) -> None:
    whole = load_report(example.read_bytes())
    facts = parse_report_facts(render_json(redact(whole)), DIGEST)
    assert facts.redacted
    assert facts.identities == ()
    assert (facts.report["board"], facts.report["label_serial"]) == ("", "")
    assert facts.report["unit"] == f"order {whole.circumstances.order}"


def test_every_column_is_filled() -> None:
    tree = circumstanced(
        order_facts={
            "parts": [{"kind": "drive", "is_fitted": True, "part_number": "P", "serial": " s1 "}],
            "not_present": [], "declined": [], "firmware_password": "", "encryption": "",
            "recovery_key": "",
        }
    )  # fmt: skip
    facts = facts_of(tree)
    later = {"digest", "seal"}
    assert set(facts.report) | later == set(report.columns.keys()) - {"id"}
    for table, rows in (
        (finding, facts.findings),
        (step, facts.steps),
        (part, facts.parts),
        (identity, facts.identities),
    ):
        assert rows
        for row in rows:
            assert set(row) == set(table.columns.keys()) - {"report_id"}
    assert facts.parts[0]["serial"] == "S1"
    unrun = parse_unrun_facts(raw_of(UNRUN), DIGEST)
    assert set(unrun.report) | later == set(report.columns.keys()) - {"id"}


UNRUN = {
    "unrun": 1, "agent": "closeout", "order": "T-9", "number": 2, "reason": "locked",
    "note": "", "by": "T1", "station": "B-07",
    "at": {"text": "2026-01-01T00:30:00+01:00", "source": "typed"},
}  # fmt: skip


def test_a_unit_that_was_not_checked() -> None:
    row = parse_unrun_facts(raw_of(UNRUN), DIGEST).report
    assert (row["kind"], row["why_unrun"], row["verdict"], row["attempt"]) == (
        *("unrun", "locked", "", 2),
    )
    assert (row["unit"], row["day"], row["week"], row["month"]) == (
        *("order T-9", "2025-12-31", "2026-W01", "2025-12"),
    )
    nameless = parse_unrun_facts(raw_of(UNRUN | {"order": ""}), DIGEST).report
    assert nameless["unit"] == f"report {DIGEST}"


BLANK_UUID = "-".join(["f" * 8, *["f" * 4] * 3, "f" * 12])
OWN_BOARD = f"board MB84F000001/{uuid_of(1).upper()}"


def ordered(rule: str, expected: str, origin: str = "work order T-1, profile x") -> dict[str, Any]:
    """A report of an order that demands something of the serial."""
    own = circumstances(work_order={"name": "T-1", "revision": "1", "digest": "b" * 64})
    return tree_of(
        circumstances=own,
        findings=[failed(rule=rule, expected=expected, origin=origin, outcome="pass")],
    )


def labelled(tree: dict[str, Any], label: str) -> dict[str, Any]:
    tree["circumstances"]["handling"]["label"] = label
    return tree


@pytest.mark.parametrize(
    ("tree", "unit", "label"),
    [
        (tree_of(), OWN_BOARD, ""),
        (ordered("system.serial", " sn1 "), "label SN1", "SN1"),
        (ordered("order.label", "SN2"), "label SN2", "SN2"),
        (ordered("system.serial", "a value of its own"), OWN_BOARD, ""),
        (ordered("system.serial", "SN1", "profile x"), OWN_BOARD, ""),
        (labelled(tree_of(), "scanned"), "label SCANNED", "SCANNED"),
        (labelled(ordered("order.label", "SN2"), "other"), "label OTHER", "SN2"),
        (tree_of(inventory={}), "order T-1", ""),
        (circumstanced(order="") | {"inventory": {}}, f"report {DIGEST}", ""),
    ],
)  # fmt: skip
def test_which_unit_it_is(tree: dict[str, Any], unit: str, label: str) -> None:
    row = facts_of(tree).report
    assert (row["unit"], row["label_serial"]) == (unit, label)


def test_what_tells_units_apart() -> None:
    found = [(each["kind"], each["value"]) for each in facts_of(tree_of()).identities]
    assert found == [
        ("serial", "SN7K000001Q"),
        ("uuid", uuid_of(1).upper()),
        ("board", "MB84F000001"),
        ("drive", "DR93H000001"),
        ("mac", "3C:1A:9F:00:01:07"),
        ("pack", "VOLTARN/VT-1/P00001K"),
    ]
    assert board_of(tuple(found)) == f"MB84F000001/{uuid_of(1).upper()}"


TOKEN = f"hmac-sha256:{'ab' * 32}"


@pytest.mark.parametrize(
    "sections",
    [
        {"system": section(device(serial="To be filled by O.E.M.", uuid="0" * 32))},
        {"system": section(device(serial="0000000000", uuid=BLANK_UUID))},
        {"system": section(device(serial={"state": "blank", "reason": "", "sources": []}))},
        {"system": section(device(serial={"state": "filler", "text": "NL7QK42D"}))},
        {"system": section(device(serial=7))},
        {"system": section(device())},
        {"drive": section(device("external", serial="DR93H000001"))},
        {"drive": section(device("unknown", serial="DR93H000001"), device("unread", serial="DR9"))},
        {"wifi": section(device(mac="02:1a:9f:00:01:07"), device(mac="00:00:00:00:00:00"))},
        {"bluetooth": section(device(mac="ff:ff:ff:ff:ff:ff"), device(mac=7), device())},
        {"wired_network": section(device("external", mac="3c:1a:9f:00:01:07"))},
        {"licence": section(*(device(key_token=one) for one in ("6789N", 5)))},
        {"battery": section(device(serial="0"), device(manufacturer="V", model="M"))},
        {"drive": section(device(serial="QX7" * 100 + "K"))},
    ],
)  # fmt: skip
def test_what_is_no_identity(sections: dict[str, Any]) -> None:
    assert facts_of(tree_of(inventory=sections)).identities == ()


def test_the_same_twice_is_once_and_a_token_stays_as_it_is() -> None:
    twice = [device(mac="3c-1a-9f-00-01-07"), device(mac="3C:1A:9F:00:01:07")]
    own = {
        "wifi": section(*twice),
        "licence": section(device(key_token=TOKEN)),
        "battery": section(device(serial="P0931K", manufacturer={"state": "blank"})),
    }
    found = [(each["kind"], each["value"]) for each in facts_of(tree_of(inventory=own)).identities]
    assert found == [("mac", "3C:1A:9F:00:01:07"), ("licence", TOKEN), ("pack", "P0931K")]


def test_drafts_answers_and_revisions() -> None:
    said = {"reply": "yes", "by": "T1", "reason": "", "at": None, "attempt": 1}
    tree = circumstanced(is_draft=True, profile_signature={"state": "signed"}, handling=None)
    tree["findings"] = [failed(answer=said, concession={"by": "L1"})]
    tree["revisions"] = [{"change": "x"}]
    facts = facts_of(tree)
    assert facts.written_on == facts.report["day"] == "2026-11-20"
    said_at = {"text": "2026-11-25T23:30:00-02:00", "source": "clock"}
    tree["revisions"] = [{"change": "w"}, {"change": "x", "at": said_at}]
    assert facts_of(tree).written_on == "2026-11-26"
    tree["revisions"] = [{"change": "x"}]
    assert (facts.report["kind"], facts.report["revision"], facts.report["station"]) == (
        *("draft", 2, ""),
    )
    assert facts.report["profile_state"] == "signed"
    assert (facts.findings[0]["answer"], facts.findings[0]["is_conceded"]) == ("yes", True)


def test_text_that_acts_is_safe_in_the_index() -> None:
    tree = circumstanced(order="T\x00\x1b[2J\ud800")
    tree["findings"] = [failed(found="a\u202eb" + "c" * 5000)]
    facts = facts_of(tree)
    assert facts.report["work_order"] == "T\\x00\\x1b[2J\\ud800"
    assert "\\u202e" in str(facts.findings[0]["found"])
    assert len(str(facts.findings[0]["found"])) < 2100


def changed(place: str, to: object) -> dict[str, Any]:
    """A report with one thing in it replaced."""
    tree: Any = json.loads(raw_of(tree_of()))
    *path, last = place.split(".")
    inner = tree
    for name in path:
        inner = inner[int(name) if name.isdecimal() else name]
    inner[last] = to
    return tree


@pytest.mark.parametrize(
    ("place", "to", "told"),
    [
        ("report", 2, "report: format 2 is not known here; format 1 is"),
        ("report", 10**400, "report: format out of all measure is not known"),
        ("report", True, "report: a whole number was expected"),
        ("verdict", "perhaps", "verdict: one of release, hold, undecided was expected"),
        ("redacted", 1, "redacted: true or false was expected"),
        ("findings", {}, "findings: a list was expected"),
        ("findings.0.outcome", "odd", "findings[0].outcome: one of"),
        ("findings.0.weight", None, "findings[0].weight: a text was expected"),
        ("findings.0.answer", {"reply": "maybe"}, "findings[0].answer.reply: one of yes, no"),
        ("first_steps", [1], "first_steps[0]: an object was expected"),
        ("inventory", [], "inventory: an object was expected"),
        ("inventory.system", {"devices": [{}]}, "inventory.system.devices[0].position: is missing"),
        ("inventory.board", 1, "inventory.board: an object was expected"),
        ("circumstances.attempt", -1, "circumstances.attempt: a number up to"),
        ("circumstances.attempt", 2**31, "circumstances.attempt: a number up to"),
        ("circumstances.repairs", [1], "circumstances.repairs: a list of texts was expected"),
        ("circumstances.finished.text", "soon", "circumstances.finished.text: a time as 2026-11"),
        ("circumstances.started.text", "0001-01-01T00:00:00+23:00", "circumstances.started.text"),
        ("circumstances.evidence_digest", "abc", "evidence_digest: a SHA-256 in hex"),
        ("circumstances.profile.digest", "X" * 64, "profile.digest: a SHA-256 in hex"),
        ("circumstances.profile_signature", {"state": "odd"}, "state: one of not told, unsigned"),
        ("circumstances.order", "x" * (LONGEST + 9), "order: longer than 200 characters"),
        ("circumstances.handling.label", "x" * 300, "unit: longer than 200 characters"),
    ],
)  # fmt: skip
def test_an_odd_report_is_refused_with_the_place(place: str, to: object, told: str) -> None:
    with pytest.raises(ReportError) as refused:
        facts_of(changed(place, to))
    assert told in str(refused.value)


@pytest.mark.parametrize(
    ("raw", "told"),
    [
        (b"", "not JSON at line 1, column 1"),
        (b"[]", "an object was expected"),
        (b"\xff", "not UTF-8 at byte 0"),
        (b"[" * 200_000, "nested too deep"),
        (b'{"report": 1.0}', "1.0 is not a whole number"),
        (b'{"report": NaN}', "NaN is not a whole number"),
        (b'{"report": ' + b"9" * 5000 + b"}", "a number has too many digits"),
        (b" " * (LARGEST + 1), "larger than"),
    ],
)
def test_what_is_no_report_is_refused(raw: bytes, told: str) -> None:
    for parse in (parse_report_facts, parse_unrun_facts):
        with pytest.raises(ReportError, match=told):
            parse(raw, DIGEST)


LEAVES = st.none() | st.booleans() | st.integers() | st.text(max_size=20)
ANYTHING = st.recursive(
    LEAVES, lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=9), inner)
)
PLACES = (
    *("verdict", "first_steps", "findings", "inventory", "redacted", "revisions"),
    *("circumstances.finished", "circumstances.handling", "circumstances.order_facts"),
    *("circumstances.order", "circumstances.work_order", "inventory.drive", "findings.0.rule"),
    *("inventory.system.devices", "inventory.system.devices.0.attributes", "findings.0.concession"),
    *("inventory.wifi.devices.0.attributes.mac", "circumstances.profile_set", "findings.0.answer"),
)


@given(st.sampled_from(PLACES), ANYTHING)
def test_any_change_gives_rows_or_a_refusal(place: str, to: object) -> None:
    try:
        facts = facts_of(changed(place, to))
    except ReportError:
        return
    for name, column in report.columns.items():
        length = getattr(column.type, "length", None)
        if length and name in facts.report:
            assert len(str(facts.report[name])) <= length
