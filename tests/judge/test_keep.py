"""Rework: what was said before holds where nothing changed, and is void with a reason elsewhere."""

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from closeout.judge.keep import (
    MET_NOW,
    NO_PERSON,
    NOT_DEMANDED,
    REOPENED,
    Disturbs,
    Proofs,
    keep_proofs,
)
from closeout.judge.saying import refuse, say
from closeout.model.finding import Answer, Concession, Finding, Outcome, Reply
from closeout.model.moment import Moment
from closeout.model.verdict import decide
from strategies.reports import findings as any_findings
from strategies.sample_report import finding, sample_report

YES = Answer(reply=Reply.YES, by="T. Okar", reason="looked")
NO = Answer(reply=Reply.NO, by="T. Okar", reason="it wobbles")
CONCEDED = Concession(by="L. Arden", reason="customer informed")
THEN = Moment(text="2026-11-20T12:00:00Z", source="a test")
OPEN = finding("camera.presence", Outcome.REVIEW, answerable=True)


def bare(found: Finding) -> Finding:
    return replace(found, answer=None, concession=None)


@st.composite
def said_findings(draw: st.DrawFn) -> tuple[Finding, ...]:
    """Findings of which was said what may be said of them."""
    found = tuple(bare(one) for one in draw(st.lists(any_findings, min_size=1, max_size=6)))
    report = replace(sample_report(), findings=found)
    for number in range(1, len(found) + 1):
        for said in draw(st.lists(st.sampled_from((YES, NO, CONCEDED)), max_size=2)):
            if not refuse(report.findings[number - 1], said):
                report = say(report, number, said)
    return report.findings


def proofs(found: tuple[Finding, ...], disturbs: Disturbs = lambda _: False) -> Proofs:
    return Proofs(findings=found, attempt=1, at=THEN, disturbs=disturbs)


@given(said_findings())
def test_with_nothing_reopened_the_same_readings_give_the_same_verdict(
    found: tuple[Finding, ...],
) -> None:
    kept = keep_proofs([bare(one) for one in found], proofs(found))
    assert kept.void == ()
    assert decide(kept.findings) == decide(found)
    assert [bare(one) for one in kept.findings] == [bare(one) for one in found]


@given(said_findings(), said_findings(), st.sampled_from((lambda _: True, lambda _: False)))
def test_each_thing_said_is_kept_or_void_and_never_both(
    before: tuple[Finding, ...], now: tuple[Finding, ...], disturbs: Disturbs
) -> None:
    now = tuple(bare(one) for one in (*now, *before[::2]))
    kept = keep_proofs(now, proofs(before, disturbs))
    said = sum((one.answer is not None) + (one.concession is not None) for one in before)
    held = sum((one.answer is not None) + (one.concession is not None) for one in kept.findings)
    assert held + len(kept.void) == said
    assert not (disturbs("any") and held)
    assert all(void.why for void in kept.void)


@given(said_findings(), st.data())
def test_what_is_reopened_loses_what_was_said_of_it_and_nothing_else(
    found: tuple[Finding, ...], data: st.DataObject
) -> None:
    rule = data.draw(st.sampled_from([one.rule for one in found]))
    kept = keep_proofs([bare(one) for one in found], proofs(found, lambda one: one == rule))
    for one, before in zip(kept.findings, found, strict=True):
        stays = one.rule != rule
        assert (one.answer is not None) == (before.answer is not None and stays)
    assert {void.rule for void in kept.void} <= {rule}


def test_what_is_kept_has_the_age_of_when_it_was_said() -> None:
    own = Moment(text="2026-11-19T08:00:00Z", source="network")
    dated = replace(NO, at=own, attempt=3)
    before = replace(OPEN, answer=dated, concession=CONCEDED)
    (now,) = keep_proofs([OPEN], replace(proofs((before,)), attempt=4)).findings
    assert now.answer == dated
    assert now.concession == replace(CONCEDED, at=THEN, attempt=4)


@pytest.mark.parametrize(
    ("now", "why"),
    [
        ((), NOT_DEMANDED),
        ((replace(OPEN, subject="another"),), NOT_DEMANDED),
        ((replace(OPEN, outcome=Outcome.PASS, found="1"),), MET_NOW),
        ((replace(OPEN, answerable=False),), NO_PERSON),
        ((replace(OPEN, found="two"),), "now found: review, two; then: review, nothing"),
        ((replace(OPEN, outcome=Outcome.FAIL),), "now found: fail, nothing; then: review, nothing"),
        ((replace(OPEN, expected="3"),), "now 3 is expected, not a value of its own"),
    ],
)
def test_what_changed_is_said(now: tuple[Finding, ...], why: str) -> None:
    kept = keep_proofs(now, proofs((replace(OPEN, answer=YES),)))
    assert kept.findings == now
    assert [void.why for void in kept.void] == [why]


def test_what_is_void_says_what_it_was() -> None:
    before = replace(OPEN, answer=NO, concession=CONCEDED)
    kept = keep_proofs([OPEN], proofs((before,), lambda _: True))
    assert [(void.said, void.why) for void in kept.void] == [
        ("answered no by T. Okar: it wobbles", REOPENED),
        ("conceded by L. Arden: customer informed", REOPENED),
    ]
