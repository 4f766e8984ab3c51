"""What people say of a finding: what it changes, what it never does, and when it is refused."""

from dataclasses import replace

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from closeout.judge.questions import open_questions
from closeout.judge.saying import (
    IS_PROVEN,
    NOBODY_MAY,
    NOTHING_TO_ANSWER,
    NOTHING_TO_CONCEDE,
    RefusedError,
    decide_anew,
    refuse,
    revise,
    say,
)
from closeout.model.expectation import Weight
from closeout.model.finding import Answer, Concession, Finding, Outcome, Reply
from closeout.model.moment import Moment
from closeout.model.report import Report
from closeout.model.verdict import Verdict
from closeout.report.as_json import render_json
from closeout.report.from_json import load_report
from strategies.reports import findings as any_findings
from strategies.sample_report import finding, sample_report

YES = Answer(reply=Reply.YES, by="T. Okar", reason="looked")
NO = Answer(reply=Reply.NO, by="T. Okar", reason="it wobbles")
CONCEDED = Concession(by="L. Arden", reason="customer informed")
SAYINGS = (YES, NO, CONCEDED)
NOON = Moment(text="2026-11-20T12:00:00Z", source="a test")
WORST = (Verdict.RELEASE, Verdict.UNDECIDED, Verdict.HOLD)
OPEN = finding("camera.presence", Outcome.REVIEW, answerable=True)
FAILED = finding("display.presence", Outcome.FAIL)

some_findings = st.lists(
    any_findings | st.sampled_from((OPEN, FAILED)), min_size=1, max_size=6
).map(lambda drawn: (*drawn, OPEN, FAILED, OPEN, FAILED))
sayings = st.sampled_from(SAYINGS)


def report_of(*found: Finding) -> Report:
    return decide_anew(sample_report(), tuple(found))


def takes(report: Report, number: int, said: Answer | Concession) -> bool:
    return not refuse(report.findings[number - 1], said)


@given(some_findings, st.data())
def test_an_added_yes_never_worsens_a_verdict(
    found: tuple[Finding, ...], data: st.DataObject
) -> None:
    report = report_of(*found)
    numbers = [n for n in range(1, len(found) + 1) if takes(report, n, YES)]
    after = say(report, data.draw(st.sampled_from(numbers)), YES)
    assert WORST.index(after.verdict) <= WORST.index(report.verdict)


@given(some_findings, st.data())
def test_a_concession_never_counts_as_a_pass(
    found: tuple[Finding, ...], data: st.DataObject
) -> None:
    report = report_of(*found)
    numbers = [n for n in range(1, len(found) + 1) if takes(report, n, CONCEDED)]
    number = data.draw(st.sampled_from(numbers))
    after = say(report, number, CONCEDED)
    assert [one.outcome for one in after.findings] == [one.outcome for one in found]
    assert after.findings[number - 1].outcome is not Outcome.PASS or found[number - 1].answer
    assert any(f"conceded by {CONCEDED.by}: {CONCEDED.reason}" in why for why in after.reasons)
    assert not any(why.startswith("all ") or why == "the demand is met" for why in after.reasons)


@given(some_findings, sayings, sayings, st.data())
def test_the_order_of_answers_does_not_matter(
    found: tuple[Finding, ...],
    one: Answer | Concession,
    other: Answer | Concession,
    data: st.DataObject,
) -> None:
    report = report_of(*found)
    first = [n for n in range(1, len(found) + 1) if takes(report, n, one)]
    second = [n for n in range(1, len(found) + 1) if takes(report, n, other)]
    here, there = data.draw(st.sampled_from(first)), data.draw(st.sampled_from(second))
    assume(here != there)
    assert say(say(report, here, one), there, other) == say(say(report, there, other), here, one)


@given(some_findings, sayings, st.data())
def test_a_revision_is_loaded_as_it_was_made(
    found: tuple[Finding, ...], said: Answer | Concession, data: st.DataObject
) -> None:
    report = report_of(*found)
    numbers = [n for n in range(1, len(found) + 1) if takes(report, n, said)]
    revised = revise(report, data.draw(st.sampled_from(numbers)), said, NOON, "ab" * 32)
    assert load_report(render_json(revised)) == revised
    assert revised.revision == report.revision + 1
    assert (
        replace(
            revised,
            revisions=report.revisions,
            findings=report.findings,
            verdict=report.verdict,
            reasons=report.reasons,
            first_steps=report.first_steps,
        )
        == report
    )


@given(some_findings, sayings, st.data())
def test_what_is_refused_changes_nothing_and_says_so_in_a_line(
    found: tuple[Finding, ...], said: Answer | Concession, data: st.DataObject
) -> None:
    report = report_of(*found)
    number = data.draw(st.integers(1, len(found)))
    assume(not takes(report, number, said))
    with pytest.raises(RefusedError, match=f"^finding {number}, "):
        say(report, number, said)


@pytest.mark.parametrize(
    ("found", "said", "why"),
    [
        (finding("camera.presence", Outcome.PASS, answerable=True), YES, NOTHING_TO_ANSWER),
        (replace(FAILED, answerable=True), NO, IS_PROVEN),
        (replace(OPEN, answerable=False), YES, NOBODY_MAY),
        (replace(OPEN, answerable=False), NO, NOBODY_MAY),
        (OPEN, CONCEDED, NOTHING_TO_CONCEDE),
        (replace(OPEN, answer=YES), CONCEDED, NOTHING_TO_CONCEDE),
        (replace(FAILED, weight=Weight.SHOULD), CONCEDED, NOTHING_TO_CONCEDE),
        (OPEN, YES, ""),
        (replace(OPEN, weight=Weight.NOTE), NO, ""),
        (FAILED, CONCEDED, ""),
        (replace(FAILED, concession=CONCEDED), CONCEDED, ""),
        (replace(OPEN, answer=NO), CONCEDED, ""),
    ],
)
def test_what_may_be_said_of_what(found: Finding, said: Answer | Concession, why: str) -> None:
    assert refuse(found, said) == why


def test_a_yes_releases_and_a_no_holds() -> None:
    report = report_of(OPEN)
    assert report.verdict is Verdict.UNDECIDED
    assert say(report, 1, YES).verdict is Verdict.RELEASE
    held = say(report, 1, NO)
    assert held.verdict is Verdict.HOLD
    assert say(held, 1, CONCEDED).verdict is Verdict.RELEASE


def test_the_change_says_what_it_stands_in_place_of() -> None:
    report = report_of(OPEN)
    told: list[str] = []
    for said in (NO, CONCEDED, replace(CONCEDED, by="B. Marsh"), YES):
        report = revise(report, 1, said, NOON, "00")
        told.append(report.revisions[-1].change)
    name = "finding 1, camera.presence"
    withdrawn = "which withdraws the concession of B. Marsh: customer informed"
    assert told == [
        f"{name}: answered no",
        f"{name}: conceded",
        f"{name}: conceded; in place of the concession of L. Arden: customer informed",
        f"{name}: answered yes; in place of the no of T. Okar: it wobbles; {withdrawn}",
    ]
    assert report.findings[0].concession is None
    assert [each.number for each in report.revisions[-4:]] == [3, 4, 5, 6]
    assert report.findings[0].answer == replace(YES, at=NOON, attempt=2)


def test_questions_are_put_by_weight_then_place_and_those_that_need_time_last() -> None:
    asked = {"answerable": True}
    found = (
        finding("clock.battery_state", Outcome.UNREAD, subject="rtc0", **asked),
        finding("camera.presence", Outcome.REVIEW, connection="lid cable", **asked),
        finding("touchpad.presence", Outcome.UNCOVERED, connection="palm ribbon", **asked),
        finding("display.presence", Outcome.UNREAD, connection="lid cable", **asked),
        finding("fan.presence", Outcome.REVIEW, weight=Weight.SHOULD, **asked),
        finding("battery.presence", Outcome.REVIEW, weight=Weight.NOTE, **asked),
        finding("wifi.presence", Outcome.FAIL, **asked),
        finding("nfc.presence", Outcome.PASS, **asked),
        finding("system.serial", Outcome.REVIEW),
        finding("sound_card.presence", Outcome.REVIEW, answer=YES, **asked),
    )
    assert open_questions(found) == (2, 4, 3, 1, 5)
