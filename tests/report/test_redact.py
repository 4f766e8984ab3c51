"""Personal data is masked wherever it occurs, and the report still tells its story."""

import json
from dataclasses import replace
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from closeout.judge.wording import show_demand
from closeout.model.attribute import Shape, attributes_of
from closeout.model.expectation import Filled, MatchesOrder, Pattern
from closeout.model.finding import Answer, Concession, Outcome, Reply
from closeout.model.handling import Handling
from closeout.model.inventory import KINDS, Inventory
from closeout.model.reading import Absent, Blank, Filler, Unreadable
from closeout.model.report import Report, Step
from closeout.report.as_json import render_json
from closeout.report.page import render_page
from closeout.report.redact import OPENINGS, redact
from closeout.report.veil import mask
from strategies.sample_report import device, finding, sample_report, section

serials = st.text(st.sampled_from("ABCDEFGHJKLMNPQRSTUVWXYZ23456789-/"), min_size=8, max_size=24)


@pytest.mark.parametrize(
    ("text", "masked"),
    [
        ("", "****"),
        ("1", "****"),
        ("ABCDE", "****"),
        ("ABCDEF", "****DEF"),
        ("ABCDEFG", "****EFG"),
        ("LQ7K20418", "****0418"),
        ("4c4c4544-0031-3010-8035-b7c04f4e3032", "****3032"),
    ],
)
def test_at_most_four_characters_and_half_are_shown(text: str, masked: str) -> None:
    assert mask(text) == masked


def all_personal(serial: str) -> tuple[Inventory, list[str]]:
    """An inventory with a value of its own in every personal attribute, and those values."""
    planted: list[str] = []
    sections = []
    for kind, record in KINDS.items():
        content: dict[str, Any] = {}
        for name, attribute in attributes_of(record).items():
            if attribute.personal:
                number = 730_000_001 + 7_919 * len(planted)
                text = f"{serial}{number}"
                planted.append(str(number) if attribute.shape is Shape.INTEGER else text)
                content[name] = {Shape.INTEGER: number, Shape.TEXTS: (text,)}.get(
                    attribute.shape, text
                )
        sections.append(section(kind, device(kind, f"bus/{kind}", kind, **content)))
    return Inventory(sections=tuple(sections)), planted


def with_values_everywhere(serial: str) -> tuple[Report, list[str]]:
    """The sample with every planted value in every text that a unit or person can shape."""
    inventory, planted = all_personal(serial)
    flood = " and ".join(planted)
    plain = sample_report()
    told = finding(
        "system.serial",
        Outcome.FAIL,
        subject=f"usb/{flood}",
        label=flood,
        expected=planted[0],
        found=flood,
        origin=f"orders/{flood}.toml",
        evidence=(f"run/udev/{flood}",),
        answer=Answer(reply=Reply.NO, by="T. Okar", reason=flood),
        concession=Concession(by="L. Arden", reason=flood),
    )
    circumstances = replace(
        plain.circumstances, medium=flood, kernel=flood, repairs=(flood,), order="WO-1"
    )
    report = replace(
        plain,
        reasons=(flood,),
        first_steps=(Step(title=flood, action=flood, rules=("system.serial",)),),
        circumstances=circumstances,
        inventory=inventory,
        findings=(told,),
    )
    return report, planted


@given(serials)
def test_no_personal_value_survives(serial: str) -> None:
    report, planted = with_values_everywhere(serial)
    assert len(planted) > 12
    raw = render_json(redact(report)).decode()
    page = render_page(redact(report))
    for value in planted:
        assert value not in raw
        assert value not in page
        assert value[:-4] not in raw
        assert value[:-4] not in page


def test_the_values_are_there_before() -> None:
    report, planted = with_values_everywhere("LQ7K")
    raw, page = render_json(report).decode(), render_page(report)
    assert all(value in raw and value in page for value in planted)


def test_a_label_is_masked_and_one_that_nobody_scanned_stays_empty() -> None:
    report = sample_report()
    for label, masked in (("NW83KD20", "****KD20"), ("", "")):
        handling = Handling(operator="T17", label=label)
        facts = replace(report.circumstances, handling=handling)
        told = redact(replace(report, circumstances=facts)).circumstances.handling
        assert told == Handling(operator="T17", label=masked)


def test_what_is_not_personal_stays() -> None:
    plain, redacted = sample_report(), redact(sample_report())
    assert redacted.redacted
    assert redacted.verdict is plain.verdict
    assert redacted.words == plain.words
    facts = plain.circumstances.order_facts
    parts = tuple(replace(part, serial=mask(part.serial)) for part in facts.parts)
    masked_facts = replace(facts, parts=parts)
    assert redacted.circumstances == replace(plain.circumstances, order_facts=masked_facts)
    before, after = (json.loads(render_json(part)) for part in (plain, redacted))
    system, masked = (
        tree["inventory"]["system"]["devices"][0]["attributes"] for tree in (before, after)
    )
    assert masked["manufacturer"] == system["manufacturer"]
    assert masked["uuid"]["value"] == "****3032"
    assert masked["serial"]["text"] == "****ring"
    assert masked["serial"]["reason"] == system["serial"]["reason"]


def test_what_the_order_wants_is_personal_too() -> None:
    redacted = redact(sample_report())
    assert redacted.findings[0].expected == "****0418"
    assert "LQ7K20418" not in render_json(redacted).decode()


def test_redacting_twice_changes_no_state() -> None:
    once = redact(sample_report())
    twice = redact(once)
    assert [part.outcome for part in twice.findings] == [part.outcome for part in once.findings]


def with_reading(kind: str, name: str, reading: object, *told: str) -> Report:
    """The sample with one device alone, and findings about it that found these texts."""
    alone = Inventory(sections=(section(kind, device(kind, "p", "l", **{name: reading})),))
    findings = tuple(finding(f"{kind}.{name}", Outcome.FAIL, found=text) for text in told)
    return replace(sample_report(), inventory=alone, findings=findings, reasons=told)


def test_a_short_value_is_masked_where_it_is_the_matter() -> None:
    report = redact(with_reading("system", "serial", "7", "7", "7 (compare it with the label)"))
    assert report.findings[0].found == "****"
    assert report.findings[1].found == "**** (compare it with the label)"


def test_an_address_is_masked_without_its_colons_and_in_either_case() -> None:
    report = redact(with_reading("wifi", "mac", "02:1a:7f:33:9C:e1", "wlx021a7f339ce1"))
    assert report.reasons == ("wlx****9ce1",)


@pytest.mark.parametrize(
    "reading",
    [
        Unreadable(error="MALFORMED", advice="a number, 'KX55120' was read", sources=()),
        Blank(reason="only 'KX55120'", sources=()),
        Absent(reason='gone: "KX55120"', sources=()),
        Filler(text="KX55120", reason="a run", sources=()),
    ],
)
def test_what_a_reason_quotes_is_personal(reading: object) -> None:
    report = redact(with_reading("system", "serial", reading, "could not read 'KX55120'"))
    assert "KX55120" not in render_json(report).decode()


def test_openings_are_those_of_the_judge() -> None:
    for demand in (Filled(), MatchesOrder(value=None), Pattern(pattern="[A-Z]+")):
        assert show_demand(demand, "").startswith(OPENINGS)
