"""Many captured units judged at once, on all processors: a line each, the sum of them last.

A file that cannot be judged is said with its reason, and the others go on. Attempts are numbered in
the order of the files before any is judged, so that the reports are the same however many
processors work at them.
"""

from __future__ import annotations

import argparse
import os
from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence
from pathlib import Path
from typing import Final

from closeout.cli.batch_work import Job, Outcome, Setting, judge_all
from closeout.cli.closing import REPORTS
from closeout.cli.files import is_folder, never_ends
from closeout.cli.lead import signed_sets
from closeout.cli.recorded_attempt import ORDER_FILES, order_beside
from closeout.cli.sealing import find_signer
from closeout.cli.source import read_secret
from closeout.cli.surroundings import Surroundings
from closeout.cli.trouble import DONE, ExitCode, InputTroubleError
from closeout.cli.words import say_json, say_line
from closeout.expect.load import WorkOrder, load_work_order
from closeout.model.verdict import Verdict
from closeout.report.failure import StoreError
from closeout.report.store import next_attempt

ENDINGS: Final = (".jsonl.gz", ".jsonl")
OF_ONE_UNIT: Final = (
    *("root", "reference_time", "work_order", "again", "reopened"),
    *("order", "orders", "label", "operator", "station", "stick", "scan"),
)
"""Options that say something of one unit, and so nothing of many."""
NO_EVIDENCE: Final = f"no evidence in it, that is no file *{ENDINGS[0]}"
CANNOT_LIST: Final = "cannot be listed; check the rights"
NO_FILE: Final = "no file but a pipe or device"
BY_WEIGHT: Final = (
    *(ExitCode.INTERNAL, ExitCode.BAD_INPUT),
    *(ExitCode.HOLD, ExitCode.UNDECIDED, ExitCode.RELEASE),
)
IN_THE_SUM: Final = (Verdict.HOLD, Verdict.UNDECIDED, Verdict.RELEASE)


def run_batch(options: argparse.Namespace, surroundings: Surroundings) -> ExitCode:
    """Judges every recording; of the codes that they would end with the weightiest is its own."""
    if said := [name for name in OF_ONE_UNIT if getattr(options, name)]:
        flags = ", ".join(f"--{name.replace('_', '-')}" for name in said)
        raise InputTroubleError(
            f"{flags}: of one unit, and --evidence names several; the order of each is taken from"
            f" {ORDER_FILES[0]} beside it"
        )
    root = surroundings.folder / (options.out or REPORTS)
    setting = Setting(
        root=root,
        profile=options.profile,
        repairs=tuple(options.repair),
        secret=read_secret(options.depot_secret),
        is_redacted=options.redact,
        is_draft=options.draft,
        signer=find_signer(options),
        signed_sets=signed_sets(options),
    )
    found = tuple(_find_all(options.evidence))
    refused = [one for one in found if isinstance(one, Outcome)]
    if len(refused) == len(found):
        raise InputTroubleError(*(line for one in refused for line in one.troubles))
    counted: Counter[Verdict | None] = Counter()
    ending = DONE
    for outcome in _judged(found, setting):
        counted[outcome.verdict] += 1
        ending = min(ending, outcome.code, key=BY_WEIGHT.index)
        if options.json:
            say_json(_as_json(outcome), surroundings)
        else:
            _say_in_words(outcome, surroundings, quiet=options.quiet)
        surroundings.stdout.flush()
    if options.json:
        say_json({"recordings": counted.total(), **_by_word(counted)}, surroundings)
    else:
        say_line(_sum_in_words(counted), surroundings.stdout)
    return ending


def _find_all(named: Iterable[Path]) -> Iterator[Path | Outcome]:
    """Every recording once, in the order of what was named and of the names in it."""
    seen: set[str] = set()
    for path in named:
        found = _find(path) if is_folder(path) else iter((_openable(path),))
        for file in found:
            if isinstance(file, Path):
                place = os.path.realpath(file)
                if place in seen:
                    continue
                seen.add(place)
            yield file


def _find(folder: Path) -> Iterator[Path | Outcome]:
    """Those of a folder before those of the folders in it.

    What is hidden is a report that was not written to its end. Links to folders may lead in a
    circle and are not followed.
    """
    is_empty = True
    failures: list[OSError] = []
    for place, folders, files in os.walk(folder, onerror=failures.append):
        folders[:] = sorted(name for name in folders if not name.startswith("."))
        for name in sorted(files):
            if name.endswith(ENDINGS) and not name.startswith("."):
                is_empty = False
                yield _openable(Path(place, name))
    if failures:
        yield from (_refused(failure.filename, CANNOT_LIST) for failure in failures)
    elif is_empty:
        yield _refused(folder, NO_EVIDENCE)


def _openable(file: Path) -> Path | Outcome:
    """What is gone is said by whoever opens it."""
    return _refused(file, NO_FILE) if never_ends(file) else file


def _refused(path: Path | str, why: str) -> Outcome:
    return Outcome(file=Path(path), code=ExitCode.BAD_INPUT, troubles=(f"{path}: {why}",))


def _judged(found: Sequence[Path | Outcome], setting: Setting) -> Iterator[Outcome]:
    numbered = list(_number(found, setting))
    outcomes = judge_all([one for one in numbered if isinstance(one, Job)], setting)
    for one in numbered:
        yield one if isinstance(one, Outcome) else next(outcomes)


def _number(found: Iterable[Path | Outcome], setting: Setting) -> Iterator[Job | Outcome]:
    """Each recording with its order and the number of its attempt."""
    numbers: dict[str, int] = {}
    for file in found:
        if isinstance(file, Outcome):
            yield file
            continue
        order = order_beside(file.parent)
        loaded = load_work_order(order) if order else None
        # What is wrong with an order is said by whoever judges by it.
        name = loaded.order if isinstance(loaded, WorkOrder) else ""
        try:
            number = numbers.get(name) or next_attempt(setting.root, name)
        except StoreError as error:
            yield _refused(file, str(error))
            continue
        numbers[name] = number + 1
        yield Job(file=file, order=order, attempt=number)


def _say_in_words(outcome: Outcome, surroundings: Surroundings, *, quiet: bool) -> None:
    """A line; for what was not judged one for each trouble, where troubles are said."""
    for trouble in outcome.troubles:
        say_line(f"closeout: {trouble}", surroundings.stderr)
    if outcome.verdict and not quiet:
        say_line(f"{outcome.file}: {outcome.words}", surroundings.stdout)


def _as_json(outcome: Outcome) -> Mapping[str, object]:
    if outcome.verdict is None:
        return {"evidence": str(outcome.file), "troubles": list(outcome.troubles)}
    told = {"verdict": outcome.verdict.value, "report": str(outcome.report)}
    return {"evidence": str(outcome.file), **told}


def _by_word(counted: Counter[Verdict | None]) -> Mapping[str, int]:
    judged = {verdict.value: counted[verdict] for verdict in IN_THE_SUM}
    return {**judged, "not_judged": counted[None]}


def _sum_in_words(counted: Counter[Verdict | None]) -> str:
    words = _by_word(counted).items()
    told = (f"{number} {word.replace('_', ' ')}" for word, number in words if number)
    units = "1 recording" if counted.total() == 1 else f"{counted.total()} recordings"
    return f"{units}: {', '.join(told)}"
