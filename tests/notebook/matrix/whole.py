"""A whole matrix: cases chosen, run by two workers, judged, shown.

python tests/notebook faults                       all: single faults, pairs, healthy variations
python tests/notebook faults --few                 those that stand for all, as in CI
python tests/notebook faults osier-15/fan-stopped osier-15/fan-stopped+lid-stuck
"""

import json
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from concurrent.futures import Future, ProcessPoolExecutor, as_completed
from dataclasses import dataclass, field
from multiprocessing import get_context
from pathlib import Path
from typing import Final

from notebook.description import DescriptionError, load_notebook
from notebook.image import Image
from notebook.matrix.case import PLUS, SEED, Case, draw_pairs, singles
from notebook.matrix.fault import Fault, Told, load_faults
from notebook.matrix.healthy import load_healthy
from notebook.matrix.outcome import WORKERS, Outcome, find_leaning, judge_run
from notebook.matrix.replay import ASKED
from notebook.matrix.running import Run, run_case
from notebook.session import GuestError

TRIES: Final = 2
DEADLINE: Final = "(DEADLINE)"
PAIRS, HEALTHY = 200, 50
FEW_PAIRS: Final = 2
Say = Callable[[str], None]


@dataclass(frozen=True, slots=True, kw_only=True)
class Choice:
    """Which cases: by name, or so many of each kind."""

    names: tuple[str, ...] = ()
    pairs: int = PAIRS
    seed: int = SEED
    healthy: int = HEALTHY
    few: bool = False


@dataclass(slots=True, kw_only=True)
class Matrix:
    """What came of all cases; `troubles` are those of no case."""

    outcomes: list[Outcome] = field(default_factory=list)
    troubles: list[str] = field(default_factory=list)
    runs: dict[str, Run] = field(default_factory=dict)
    seconds: float = 0.0

    @property
    def is_right(self) -> bool:
        """Everything planted was named right, and nothing else was named."""
        return not self.troubles and not any(outcome.troubles for outcome in self.outcomes)


def choose(choice: Choice) -> tuple[Case, ...]:
    """The cases; DescriptionError for a name that there is none of."""
    faults, healthy = load_faults(), load_healthy()
    if choice.names:
        return tuple(_named(name, faults) for name in choice.names)
    if choice.few:
        faults = tuple(fault for fault in faults if fault.few)
        healthy = tuple(one for one in healthy if one.few)
    variations = [Case(notebook=one.notebook, healthy=one) for one in healthy]
    pairs = draw_pairs(faults, FEW_PAIRS if choice.few else choice.pairs, choice.seed)
    return (*singles(faults), *pairs, *variations[: choice.healthy])


def _named(name: str, faults: Sequence[Fault]) -> Case:
    """`NOTEBOOK/FAULT`, `NOTEBOOK/FAULT+FAULT`, or a healthy variation's name."""
    notebook, _, told = name.partition("/")
    known = {fault.case: fault for fault in faults}
    for one in load_healthy():
        if one.case == name:
            return Case(notebook=notebook, healthy=one)
    try:
        planted = tuple(known[f"{notebook}/{part}"] for part in told.split(PLUS))
    except KeyError as missing:
        raise DescriptionError(f"there is no fault {missing}; see tests/notebook/matrix") from None
    return Case(notebook=notebook, faults=planted)


def run_matrix(cases: Sequence[Case], image: Image, say: Say) -> Matrix:
    """Every case run, with the healthy notebooks that they are held against."""
    matrix = Matrix()
    baselines = [Case(notebook=name) for name in dict.fromkeys(case.notebook for case in cases)]
    for case, run in _run_all([*baselines, *_in_order(cases)], image, say):
        if isinstance(run, Run):
            matrix.runs[case.name] = run
        else:
            matrix.troubles.append(f"{case.name}: not run: {run}")
    matrix.troubles += [
        f"{case.name}, against which all are held: {told.show()}"
        for case in baselines
        if case.name in matrix.runs
        for told in matrix.runs[case.name].not_passed
        if not told.rule.startswith(ASKED)
    ]
    for case in cases:
        run, healthy = matrix.runs.get(case.name), matrix.runs.get(f"{case.notebook}/healthy")
        if run and healthy:
            matrix.outcomes.append(judge_run(case, run, healthy))
    return matrix


def delete_rules(matrix: Matrix) -> Iterator[str]:
    """What is not as it should be when any one rule is deleted, on the evidence of the matrix."""
    planted = [one.case for one in matrix.outcomes if one.case.faults and not one.troubles]
    yield from find_leaning(matrix.runs, planted)


def _in_order(cases: Iterable[Case]) -> list[Case]:
    """Single faults first: each that needs a start of its own makes it, and no other waits."""
    return sorted(cases, key=lambda case: (len(case.faults) != 1, case.name))


def _run_all(cases: Sequence[Case], image: Image, say: Say) -> Iterator[tuple[Case, Run | str]]:
    with ProcessPoolExecutor(WORKERS, mp_context=get_context("spawn")) as pool:
        waiting: dict[Future[Run | str], Case] = {
            pool.submit(attempt, case, image): case for case in cases
        }
        for done, future in enumerate(as_completed(waiting), start=1):
            case, run = waiting[future], future.result()
            took = f"{run.seconds:.1f} s" if isinstance(run, Run) else run
            say(f"{done}/{len(cases)} {case.name}: {took}")
            yield case, run


def attempt(case: Case, image: Image) -> Run | str:
    """The run, or why there is none.

    It is tried once more where the guest did not answer, and where a deadline of the agent's ran
    out that nothing planted explains: then the host was too busy. What the last try says stands.
    """
    came: Run | str = ""
    for _ in range(TRIES):
        try:
            came = run_case(case, image)
        except GuestError as error:
            came = f"the guest: {error}"
        except Exception as error:  # noqa: BLE001 - one case must not cost the others
            return f"{type(error).__name__}: {error}"
        else:
            if not any(unplanted_deadlines(case, came.not_passed)):
                return came
    return came


def unplanted_deadlines(case: Case, found: Iterable[Told]) -> Iterator[Told]:
    """Findings of questions that were not answered in time, although nothing planted hangs."""
    for told in found:
        if DEADLINE in told.found and not any(one.covers(told) for one in case.expected):
            yield told


def keep(matrix: Matrix, folder: Path) -> None:
    """Evidence, order, profile and findings of every run, each in a folder of the case's name."""
    for name, run in matrix.runs.items():
        place = folder / name
        place.mkdir(parents=True, exist_ok=True)
        (place / "evidence.jsonl.gz").write_bytes(run.evidence)
        (place / "profile.toml").write_bytes(run.profile)
        (place / "order.toml").write_bytes(run.order)
        (place / "report.json").write_text(json.dumps(run.report, indent=1), "utf-8")


def load_kept(folder: Path, cases: Iterable[Case]) -> Mapping[str, Run]:
    """The runs of these cases that were kept, to be judged once more without an emulator."""
    found = {}
    for name in {case.name for case in cases} | {f"{case.notebook}/healthy" for case in cases}:
        place = folder / name
        if place.is_dir():
            found[name] = Run(
                case=name,
                status=0,
                report=json.loads((place / "report.json").read_text("utf-8")),
                evidence=(place / "evidence.jsonl.gz").read_bytes(),
                profile=(place / "profile.toml").read_bytes(),
                order=(place / "order.toml").read_bytes(),
                woke_after=0.0,
                seconds=0.0,
            )
    return found


def titles(cases: Iterable[Case]) -> Iterator[str]:
    """What is planted in each, in words."""
    for case in cases:
        told = [fault.title for fault in case.faults]
        told += [case.healthy.title] if case.healthy else []
        yield f"{case.name}: {', and '.join(told)} ({load_notebook(case.notebook).title})"
