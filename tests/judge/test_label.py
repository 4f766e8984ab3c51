"""The scanned label against the order."""

from closeout.judge.label import judge_label
from closeout.judge.steps import first_steps
from closeout.model.catalogue import Catalogue
from closeout.model.expectation import Weight
from closeout.model.finding import Finding, Outcome
from closeout.model.frozen import replace
from closeout.model.label_agreement import LABEL_ENTRY, LABEL_RULE
from closeout.model.verdict import Verdict, decide


def test_a_label_that_agrees_is_a_must_that_passed() -> None:
    finding = judge_label("NL7QK42D", "NL7QK42D", "WO-7")
    assert (finding.rule, finding.weight, finding.outcome) == (
        "order.label",
        Weight.MUST,
        Outcome.PASS,
    )
    assert decide([finding]) is Verdict.RELEASE


def test_a_label_that_differs_holds_and_no_person_may_answer_it() -> None:
    finding = judge_label("NL7QK42X", "NL7QK42D", "WO-7")
    assert (finding.outcome, finding.answerable) == (Outcome.FAIL, False)
    assert (finding.expected, finding.found) == ("NL7QK42D", "NL7QK42X")
    assert (finding.origin, decide([finding])) == ("work order WO-7", Verdict.HOLD)


def test_which_unit_it_is_comes_before_everything_else_that_is_to_do() -> None:
    missing = missing_touchpad()
    label = judge_label("A", "B", "WO-7")
    entries = {LABEL_RULE: LABEL_ENTRY, missing.rule: replace(LABEL_ENTRY, advice="Reseat it.")}
    steps = first_steps([missing, label], Catalogue(version="1", entries=entries))
    assert [step.rules for step in steps] == [(LABEL_RULE,), ("touchpad.presence",)]


def missing_touchpad() -> Finding:
    failed = judge_label("none", "one or more", "WO-7")
    return replace(failed, rule="touchpad.presence", subject="touchpad", label="touchpad")
