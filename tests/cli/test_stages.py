"""What a person is told before the verdict: the budget, the first words, and the figures after."""

import errno
from dataclasses import replace
from pathlib import Path

import pytest

from closeout.check import IDENTITY, ROUNDS
from closeout.cli.budget import Budget, budget_of, show_seconds, tell_budget
from closeout.cli.first_words import read_identity, tell_identity, tell_presence
from closeout.cli.stages import Stages
from closeout.cli.terms import load_demands
from closeout.expect.load import expectations_of, shipped_profile_for
from closeout.expect.repair_map import load_repair_map
from closeout.kernel.capture import record_tree
from closeout.kernel.evidence_file import encode_lines
from closeout.kernel.recorded import RecordedTree, replay
from closeout.model.expectation import CONNECTION, Asked, Expectation, Filled, Weight
from strategies.drawn_tree import DrawnTree
from strategies.fen import HEALTHY
from strategies.laid_out import healthy
from strategies.notebook import draw_notebook
from strategies.runs import conditions, record
from strategies.surroundings import call_in


def asked(kind: str = CONNECTION, weight: Weight = Weight.MUST, name: str = "panel") -> Expectation:
    return Expectation(
        kind=kind,
        attribute=name,
        demand=Asked(),
        weight=weight,
        where=(),
        review_only=False,
        external_counts=False,
        origin="a test",
    )


def test_the_budget_counts_what_is_asked_for_certain() -> None:
    repair_map = load_repair_map()
    first, second = [each for each in repair_map.connections.values() if each.question][:2]
    demands = [
        asked(name=first.id),
        asked(weight=Weight.SHOULD, name=second.id),
        asked(weight=Weight.NOTE, name=second.id),
        replace(asked("clock"), demand=Filled()),
    ]
    seconds = first.seconds + second.seconds
    assert budget_of(demands, repair_map) == Budget(questions=2, seconds=seconds)
    assert budget_of(demands[-1:], None) == Budget(questions=0, seconds=0)


@pytest.mark.parametrize(
    ("budget", "end"),
    [
        (None, "; then what the model and the readings leave to ask"),
        ((0, 0), "; questions only where something cannot be read"),
        ((1, 30), "; 1 question, 30 s of hands, more where something cannot be read"),
        ((9, 200), "; 9 questions, 3 min 20 s of hands, more where"),
    ],
)
def test_the_budget_is_one_sentence(budget: tuple[int, int] | None, end: str) -> None:
    names = ("questions", "seconds")
    given = budget and Budget(**dict(zip(names, budget, strict=True)))
    told = tell_budget(given)
    assert told.startswith("Budget: reading 10 s as a rule, 1 min at most; ")
    assert end in told


@pytest.mark.parametrize(
    ("seconds", "shown"), [(0, "0 s"), (59, "59 s"), (60, "1 min"), (61, "1 min 1 s")]
)
def test_seconds_are_shown_as_people_say_them(seconds: int, shown: str) -> None:
    assert show_seconds(seconds) == shown


def partial_tree(tree: DrawnTree, rounds: int) -> RecordedTree:
    """What is recorded after so many rounds."""
    return replay(record_tree(tree, ROUNDS[:rounds], conditions()))


def test_the_unit_is_known_after_the_first_round() -> None:
    tree = partial_tree(draw_notebook(HEALTHY), 1)
    told = tell_identity(read_identity(tree), redacted=False)
    assert told.endswith(", serial NW83KD20")
    assert "NW83KD20" not in tell_identity(read_identity(tree), redacted=True)


def test_a_unit_that_does_not_say_its_name_is_told_as_such() -> None:
    silent = tell_identity(read_identity(RecordedTree({})), redacted=False)
    assert silent.startswith("a unit that does not say its maker and model")
    blank = healthy_without_names()
    told = tell_identity(read_identity(partial_tree(blank, 1)), redacted=False)
    assert told == "a unit that does not say its maker and model, serial not given (blank)"


def healthy_without_names() -> DrawnTree:
    plan = replace(HEALTHY, maker=" ", product=" ", serial=" ")
    return draw_notebook(plan)


def test_parts_are_counted_after_the_lists_and_named_where_they_are_missing() -> None:
    demanded = expectations_of(shipped_profile_for("", ""), None)
    tree = draw_notebook(HEALTHY)
    told = tell_presence(partial_tree(tree, 2), demanded)
    counted = told.removeprefix("parts answering: ").split(" of ")
    assert counted[0] == counted[1]
    missing = tell_presence(RecordedTree({}), demanded)  # no list could be read
    assert missing.startswith("parts answering: 0 of ")
    assert "; not seen yet: " in missing


def test_reading_in_stages_gives_the_same_evidence() -> None:
    """Two rounds or three, what is asked and answered is the same, byte for byte."""
    tree = draw_notebook(HEALTHY)
    rounds = (lambda one: [*ROUNDS[0](one), *ROUNDS[1](one)], ROUNDS[2])
    staged, plain = record(tree), record_tree(tree, rounds, conditions())
    assert encode_lines(staged) == encode_lines(plain)
    assert len(IDENTITY) == 1


def test_each_round_is_shown_once_it_is_done() -> None:
    seen: list[tuple[int, bool]] = []
    tree = draw_notebook(HEALTHY)

    def look(done: int, so_far: RecordedTree) -> None:
        identity = read_identity(so_far)
        seen.append((done, "NW83KD20" in tell_identity(identity, redacted=False)))

    record_tree(tree, ROUNDS, replace(conditions(), look=look))
    assert seen == [(1, True), (2, True), (3, True)]


def test_a_terminal_is_told_budget_and_first_words_and_a_pipe_is_not(tmp_path: Path) -> None:
    unit = healthy(tmp_path / "unit")
    arguments = ("check", "--root", unit, "--profile", "any-notebook")
    told = call_in(tmp_path, *arguments, terminal=True)
    lines = told.out.splitlines()
    assert lines[0].startswith("Budget: reading 10 s as a rule, 1 min at most; questions only")
    assert any(line.endswith(", serial NW83KD20") for line in lines[1:4])
    assert any(line.startswith("parts answering: ") for line in lines)
    assert lines[-1].startswith("Took: reading ")
    assert lines[-1].endswith("; 0 answered")
    for quiet in ((), ("--quiet",), ("--json",)):
        out = call_in(tmp_path, *arguments, *quiet, terminal=quiet != ()).out
        assert "Budget" not in out
        assert "Took" not in out
    hidden = call_in(tmp_path, *arguments, "--redact", terminal=True)
    assert "NW83KD20" not in hidden.out


def test_a_recording_is_judged_at_once(tmp_path: Path) -> None:
    unit = healthy(tmp_path / "unit")
    call_in(tmp_path, "capture", "--root", unit, "-o", tmp_path / "e.gz")
    told = call_in(tmp_path, "check", "--evidence", tmp_path / "e.gz", terminal=True)
    assert "Budget" not in told.out


def test_a_terminal_that_is_gone_does_not_cost_the_readings(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    def gone(_: Stages, text: str) -> None:
        raise OSError(errno.EIO, text)

    monkeypatch.setattr(Stages, "_say", gone)
    stages = Stages.__new__(Stages)
    stages._demands = load_demands(None, None)
    stages._redacted = False
    stages._map = None
    tree = draw_notebook(HEALTHY)
    evidence = record_tree(tree, ROUNDS, replace(conditions(), look=stages.look))
    assert encode_lines(evidence) == encode_lines(record(tree))
