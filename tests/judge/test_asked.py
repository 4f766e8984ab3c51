"""What only a person can say: a question, and never a pass by itself."""

from closeout.judge.comparison import match_reading
from closeout.judge.demands import judge_expectation
from closeout.judge.wording import show_demand
from closeout.model.catalogue import Catalogue
from closeout.model.expectation import CONNECTION, Asked
from closeout.model.finding import Outcome
from strategies.demands import expect
from strategies.devices import inventory, value

NO_RULES = Catalogue(version="test", entries={})


def test_it_is_a_review_that_a_person_may_answer() -> None:
    demand = expect(CONNECTION, "panel-cable", Asked(), part="panel cable", connection="at the lid")
    (found,) = judge_expectation(inventory(), demand, NO_RULES)
    assert (found.outcome, found.answerable) == (Outcome.REVIEW, True)
    assert (found.rule, found.subject, found.label) == (
        "connection.panel-cable",
        "panel-cable",
        "panel cable",
    )
    assert found.connection == "at the lid"


def test_no_reading_proves_it() -> None:
    assert match_reading(value("anything"), Asked()).outcome is Outcome.REVIEW


def test_it_says_what_is_wanted() -> None:
    assert show_demand(Asked(), "") == "yes, by a person who looked"
    assert show_demand(Asked(wanted="layout DE"), "") == "layout DE"
