"""The verdict, row by row: weight x outcome x answer x concession, written by hand."""

import itertools

import pytest
from hypothesis import given
from hypothesis import strategies as st

from closeout.model.expectation import Weight
from closeout.model.finding import Answer, Concession, Finding, Outcome, Reply
from closeout.model.verdict import Verdict, decide

# outcome    answer  conceded  a person may answer   a person may not
MUST_ROWS = """
pass         -       -         release               release
pass         -       yes       release               release
pass         yes     -         release               release
pass         yes     yes       release               release
pass         no      -         hold                  hold
pass         no      yes       release               release
fail         -       -         hold                  hold
fail         -       yes       release               release
fail         yes     -         hold                  hold
fail         yes     yes       release               release
fail         no      -         hold                  hold
fail         no      yes       release               release
review       -       -         undecided             undecided
review       -       yes       undecided             undecided
review       yes     -         release               undecided
review       yes     yes       release               undecided
review       no      -         hold                  hold
review       no      yes       release               release
unread       -       -         undecided             undecided
unread       -       yes       undecided             undecided
unread       yes     -         release               undecided
unread       yes     yes       release               undecided
unread       no      -         hold                  hold
unread       no      yes       release               release
uncovered    -       -         undecided             undecided
uncovered    -       yes       undecided             undecided
uncovered    yes     -         release               undecided
uncovered    yes     yes       release               undecided
uncovered    no      -         hold                  hold
uncovered    no      yes       release               release
"""

# A should or a note alone is no demand that could earn a release; beside a must it never blocks.
# weight  outcome    answer  conceded  alone       beside a must that passed
OTHER_ROWS = """
should    pass       -       -         undecided   release
should    pass       -       yes       undecided   release
should    pass       yes     -         undecided   release
should    pass       yes     yes       undecided   release
should    pass       no      -         undecided   release
should    pass       no      yes       undecided   release
should    fail       -       -         undecided   release
should    fail       -       yes       undecided   release
should    fail       yes     -         undecided   release
should    fail       yes     yes       undecided   release
should    fail       no      -         undecided   release
should    fail       no      yes       undecided   release
should    review     -       -         undecided   release
should    review     -       yes       undecided   release
should    review     yes     -         undecided   release
should    review     yes     yes       undecided   release
should    review     no      -         undecided   release
should    review     no      yes       undecided   release
should    unread     -       -         undecided   release
should    unread     -       yes       undecided   release
should    unread     yes     -         undecided   release
should    unread     yes     yes       undecided   release
should    unread     no      -         undecided   release
should    unread     no      yes       undecided   release
should    uncovered  -       -         undecided   release
should    uncovered  -       yes       undecided   release
should    uncovered  yes     -         undecided   release
should    uncovered  yes     yes       undecided   release
should    uncovered  no      -         undecided   release
should    uncovered  no      yes       undecided   release
note      pass       -       -         undecided   release
note      pass       -       yes       undecided   release
note      pass       yes     -         undecided   release
note      pass       yes     yes       undecided   release
note      pass       no      -         undecided   release
note      pass       no      yes       undecided   release
note      fail       -       -         undecided   release
note      fail       -       yes       undecided   release
note      fail       yes     -         undecided   release
note      fail       yes     yes       undecided   release
note      fail       no      -         undecided   release
note      fail       no      yes       undecided   release
note      review     -       -         undecided   release
note      review     -       yes       undecided   release
note      review     yes     -         undecided   release
note      review     yes     yes       undecided   release
note      review     no      -         undecided   release
note      review     no      yes       undecided   release
note      unread     -       -         undecided   release
note      unread     -       yes       undecided   release
note      unread     yes     -         undecided   release
note      unread     yes     yes       undecided   release
note      unread     no      -         undecided   release
note      unread     no      yes       undecided   release
note      uncovered  -       -         undecided   release
note      uncovered  -       yes       undecided   release
note      uncovered  yes     -         undecided   release
note      uncovered  yes     yes       undecided   release
note      uncovered  no      -         undecided   release
note      uncovered  no      yes       undecided   release
"""


def rows(table: str) -> list[list[str]]:
    return [line.split() for line in table.strip().splitlines()]


def finding(
    weight: str, outcome: str, answer: str, conceded: str, *, answerable: bool = True
) -> Finding:
    return Finding(
        rule="camera.presence",
        subject="camera",
        label="camera",
        weight=Weight(weight),
        outcome=Outcome(outcome),
        expected="present",
        found="none",
        origin="test",
        evidence=(),
        answerable=answerable,
        answer=None if answer == "-" else Answer(reply=Reply(answer), by="T1", reason="seen"),
        concession=Concession(by="L1", reason="agreed") if conceded == "yes" else None,
    )


@pytest.mark.parametrize("row", rows(MUST_ROWS), ids="-".join)
def test_a_single_must(row: list[str]) -> None:
    outcome, answer, conceded, answerable, not_answerable = row
    may = finding("must", outcome, answer, conceded)
    may_not = finding("must", outcome, answer, conceded, answerable=False)
    assert decide([may]) is Verdict(answerable)
    assert decide([may_not]) is Verdict(not_answerable)


@pytest.mark.parametrize("row", rows(OTHER_ROWS), ids="-".join)
def test_should_and_note_never_block_and_never_earn(row: list[str]) -> None:
    weight, outcome, answer, conceded, alone, beside = row
    other = finding(weight, outcome, answer, conceded)
    assert decide([other]) is Verdict(alone)
    assert decide([finding("must", "pass", "-", "-"), other]) is Verdict(beside)


def test_the_tables_are_complete() -> None:
    outcomes = [outcome.value for outcome in Outcome]
    said = list(itertools.product(outcomes, ["-", "yes", "no"], ["-", "yes"]))
    assert sorted(map(tuple, (row[:3] for row in rows(MUST_ROWS)))) == sorted(said)
    weighted = [(weight, *rest) for weight in ("should", "note") for rest in said]
    assert sorted(map(tuple, (row[:4] for row in rows(OTHER_ROWS)))) == sorted(weighted)


def test_silence_is_never_a_pass() -> None:
    assert decide([]) is Verdict.UNDECIDED


ANY_MUST = st.builds(
    finding,
    st.just("must"),
    st.sampled_from([outcome.value for outcome in Outcome]),
    st.sampled_from(["-", "yes", "no"]),
    st.sampled_from(["-", "yes"]),
    answerable=st.booleans(),
)


@given(st.lists(ANY_MUST, min_size=1), st.randoms())
def test_one_must_decides_for_all_and_order_does_not_matter(
    musts: list[Finding], random: object
) -> None:
    """Hold before undecided before release, whatever the order."""
    single = {decide([must]) for must in musts}
    expected = next(
        verdict
        for verdict in (Verdict.HOLD, Verdict.UNDECIDED, Verdict.RELEASE)
        if verdict in single
    )
    shuffled = list(musts)
    random.shuffle(shuffled)  # type: ignore[attr-defined]
    assert decide(shuffled) is expected
