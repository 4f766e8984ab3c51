"""What became of every case of a matrix, each judged twice: inside the notebook and outside."""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass, replace
from multiprocessing import get_context
from typing import Final

from closeout.model.verdict import decide
from notebook.checked import profile_in_guest
from notebook.description import load_notebook
from notebook.matrix.case import Case
from notebook.matrix.comparison import Compared, compare
from notebook.matrix.fault import Told
from notebook.matrix.replay import ANY, answered, judge_without, replays, report_again
from notebook.matrix.running import Run

WORKERS: Final = 2
RELEASE, HOLD = "release", "hold"
KINDS: Final = ("single", "pair", "healthy")


@dataclass(frozen=True, slots=True, kw_only=True)
class Outcome:
    """A case and what it came to; `troubles` are all that is not as it should be, in lines."""

    case: Case
    compared: Compared
    troubles: tuple[str, ...]
    seconds: float

    @property
    def kind(self) -> str:
        """Single, pair or healthy."""
        return KINDS[len(self.case.faults) - 1]


def judge_run(case: Case, run: Run, healthy: Run) -> Outcome:
    """The run against what was planted, its replay, and, where it is healthy, its verdicts."""
    compared = compare(case, run.not_passed, healthy.not_passed)
    troubles = [*_mismatches(compared)]
    if not replays(run):
        troubles.append("its evidence leads to other findings outside")
    if not case.faults:
        troubles += _unreleased(case, run)
    return Outcome(case=case, compared=compared, troubles=tuple(troubles), seconds=run.seconds)


def _mismatches(compared: Compared) -> Iterator[str]:
    for named in compared.named:
        if not named.caught:
            yield f"{named.fault.name} is not caught"
        yield from (f"{named.fault.name} does not lead to: {told.show()}" for told in named.missed)
    yield from (f"no fault leads to: {told.show()}" for told in compared.alarms)
    yield from (f"hidden by a fault: {told.show()}" for told in compared.lost)


def _unreleased(case: Case, run: Run) -> Iterator[str]:
    """Release on the model's own profile, with the bench's demands or not; no hold on any's."""
    shipped = profile_in_guest(load_notebook(case.notebook).profile)
    for name, profile in (("its profile", shipped), ("its profile with the bench's", run.profile)):
        verdict = decide(answered(report_again(run, profile, run.order)).findings).value
        if verdict != RELEASE:
            yield f"{verdict} on {name}"
    verdict = report_again(run, ANY, None).verdict.value
    if verdict == HOLD:
        yield f"{verdict} on any notebook's profile"


def find_leaning(runs: Mapping[str, Run], cases: Sequence[Case]) -> Iterator[str]:
    """With any one rule deleted the matrix must fail in exactly the faults that name the rule.

    Judged on the recorded evidence, by two processes. A line for each rule of which that is not
    so.
    """
    rules = sorted({told.rule for case in cases for told in case.expected})
    healthy = {
        name: {rule: judge_without(runs[f"{name}/healthy"], rule) for rule in rules}
        for name in sorted({case.notebook for case in cases})
    }
    deleted = [
        _Deleted(case=case, run=replace(runs[case.name], report={}), healthy=healthy[case.notebook])
        for case in cases
    ]
    wrong: dict[str, set[str]] = {rule: set() for rule in rules}
    with ProcessPoolExecutor(WORKERS, mp_context=get_context("spawn")) as pool:
        for case, leaning in zip(cases, pool.map(_leans_on, deleted, chunksize=8), strict=True):
            for rule in leaning:
                wrong[rule].add(case.name)
    for rule in rules:
        due = {case.name for case in cases if any(told.rule == rule for told in case.expected)}
        if wrong[rule] != due:
            yield f"without {rule}: {_differing(wrong[rule], due)}"


@dataclass(frozen=True, slots=True, kw_only=True)
class _Deleted:
    """A case, and what is found of its healthy notebook without each of the rules."""

    case: Case
    run: Run
    healthy: Mapping[str, Sequence[Told]]


def _leans_on(deleted: _Deleted) -> list[str]:
    """The rules without which the case does not come to what was planted, and nothing else."""
    return [
        rule
        for rule, healthy in deleted.healthy.items()
        if not compare(deleted.case, judge_without(deleted.run, rule), healthy).right
    ]


def _differing(wrong: set[str], due: set[str]) -> str:
    unseen, others = sorted(due - wrong), sorted(wrong - due)
    told = [f"still right: {', '.join(unseen)}"] if unseen else []
    return "; ".join([*told, *([f"wrong too: {', '.join(others)}"] if others else [])])


def count_rules(cases: Iterable[Case]) -> int:
    """How many rules the faults name."""
    return len({told.rule for case in cases for told in case.expected})
