"""More proof never makes a verdict worse."""

import errno

from hypothesis import given, settings
from hypothesis import strategies as st

from closeout.kernel.record import Failure, Question
from closeout.model.finding import Finding, Outcome
from closeout.model.frozen import replace as replace_fields
from closeout.model.verdict import Verdict, decide
from healthy.judged import FEN, judge, judge_on_any, read_unit
from healthy.shown_unit import follow, with_answers

RANKS = {Verdict.HOLD: 0, Verdict.UNDECIDED: 1, Verdict.RELEASE: 2}
READOUT = read_unit(FEN)
FINDINGS = judge(FEN, READOUT, FEN.order).findings
UNREADABLE = (errno.EIO, errno.EACCES, errno.ETIMEDOUT, errno.ENXIO)
"""A reading that says that there is nothing is no failure: it is a statement."""


def asked_by_musts() -> list[Question]:
    """What the demands that decide rest on."""
    sources = {
        follow(FEN.answers, source.split("#", maxsplit=1)[0])
        for report in (judge(FEN, READOUT, FEN.order), judge_on_any(FEN, READOUT))
        for finding in report.findings
        if finding.weight.value == "must"
        for source in finding.evidence
    }
    return sorted(
        question
        for question, answer in FEN.answers.items()
        if follow(FEN.answers, question.text) in sources and not isinstance(answer, Failure)
    )


ASKED = asked_by_musts()


@st.composite
def outcomes(draw: st.DrawFn) -> list[Finding]:
    """The findings of a unit, each with any outcome."""
    chosen = draw(st.lists(st.sampled_from(FINDINGS), min_size=1, max_size=12, unique=True))
    return [replace_fields(finding, outcome=draw(st.sampled_from(Outcome))) for finding in chosen]


@given(findings=outcomes(), number=st.integers(min_value=0, max_value=11))
def test_a_finding_that_passes_after_all(findings: list[Finding], number: int) -> None:
    at = number % len(findings)
    proven = list(findings)
    proven[at] = replace_fields(findings[at], outcome=Outcome.PASS)
    assert RANKS[decide(proven)] >= RANKS[decide(findings)]


@given(findings=outcomes(), added=st.sampled_from(FINDINGS))
def test_one_more_finding_that_passes(findings: list[Finding], added: Finding) -> None:
    more = [*findings, replace_fields(added, outcome=Outcome.PASS)]
    assert RANKS[decide(more)] >= RANKS[decide(findings)]


@settings(max_examples=15)
@given(
    failed=st.dictionaries(
        st.sampled_from(ASKED), st.sampled_from(UNREADABLE), min_size=1, max_size=5
    ),
    at=st.integers(min_value=0, max_value=4),
)
def test_a_reading_that_is_answered_after_all(failed: dict[Question, int], at: int) -> None:
    """Readings that fail make no fault, and one of them more that is answered makes none."""
    answered = dict(failed)
    answered.pop(sorted(failed)[at % len(failed)])
    before, after = verdicts(failed), verdicts(answered)
    for old, new in zip(before, after, strict=True):
        assert old is not Verdict.HOLD
        assert RANKS[new] >= RANKS[old]


def verdicts(failed: dict[Question, int]) -> tuple[Verdict, Verdict]:
    """On its own profile, and on any notebook's, with readings that fail."""
    unit = with_answers(
        FEN, {question: Failure(number=number) for question, number in failed.items()}
    )
    readout = read_unit(unit)
    return judge(unit, readout, unit.order).verdict, judge_on_any(unit, readout).verdict


def test_the_readings_that_fail_are_those_that_decide() -> None:
    assert len(ASKED) > 20
    assert Verdict.UNDECIDED in {verdicts({question: errno.EIO})[0] for question in ASKED[:12]}
