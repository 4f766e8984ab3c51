"""One run recorded whole, round after round, from the live machine or from a folder.

The readers stand above this layer, so what they ask comes in as rounds. A round is given a tree
that replays what is recorded so far and answers the tasks to do next:

    rounds = (
        lambda _: [Task(name=reader.kind, ask=reader.find) for reader in READERS],
        lambda tree: [read_task(reader, place) for reader in READERS
                      for place in places(reader.find(tree))],
    )
    evidence = record_live(rounds, conditions)

The devices are then made from `replay(evidence)` by the same readers, whatever the source was.
"""

from __future__ import annotations

import os
from collections.abc import Callable, Sequence
from functools import partial
from typing import Final, TypeAlias

from closeout.kernel.crew import gather
from closeout.kernel.crew_terms import CHILDREN, CrewTerms
from closeout.kernel.deadlines import RUN_SECONDS
from closeout.kernel.evidence import Evidence, Header, seal_journal
from closeout.kernel.failure import ReadError
from closeout.kernel.folder import FolderTree
from closeout.kernel.live import LiveTree
from closeout.kernel.privacy import forbid_core_dumps
from closeout.kernel.record import Clock, Journal
from closeout.kernel.recorded import RecordedTree
from closeout.kernel.recorder import Recorder
from closeout.kernel.task import Progress, Round, Task, no_progress, run_task
from closeout.kernel.tree import KernelTree
from closeout.model.frozen import frozen, replace
from closeout.model.moment import Moment, ReferenceTime

RELEASE: Final = "proc/sys/kernel/osrelease"
NANOSECONDS: Final = 1_000_000_000
"""In a second."""

LISTERS: Final = 2
"""How many children list folders, in all rounds but the last: nothing there keeps many waiting, and
a child costs as much as some twenty questions (a unit in the emulator, two processors)."""

Gather: TypeAlias = Callable[[Sequence[Task], Journal, int], tuple[str, ...]]
"""Tasks, where the answers go, and how many children at most."""
Look: TypeAlias = Callable[[int, RecordedTree], object]
"""Shown after each round how many are done, and what is recorded so far, replayed."""


def look_away(_done: int, _tree: RecordedTree) -> None:
    """Sees nothing."""


@frozen
class Conditions:
    """What a recording needs from outside.

    `clock` is monotonic, in nanoseconds; `moment` tells the time of day with its source; without
    a `secret` the licence key's token is its last five characters. `references` are told times
    that the unit's clock is held against; nothing else of the run depends on them. `look` sees
    the answers between rounds and changes nothing.
    """

    agent: str
    clock: Clock
    moment: Callable[[], Moment]
    secret: bytes | None = None
    progress: Progress = no_progress
    run_seconds: float = RUN_SECONDS
    references: tuple[ReferenceTime, ...] = ()
    look: Look = look_away


def record_live(
    rounds: Sequence[Round], conditions: Conditions, source: KernelTree | None = None
) -> Evidence:
    """The evidence of the running machine, by children; at the latest after `run_seconds`.

    Raises:
        RuntimeError: a thread runs already.
    """
    terms = CrewTerms(
        clock=conditions.clock,
        until=conditions.clock() + int(conditions.run_seconds * NANOSECONDS),
        secret=conditions.secret,
        progress=conditions.progress,
    )
    tree = LiveTree() if source is None else source
    return _record("live", partial(_gather_live, tree, terms), rounds, conditions)


def record_folder(
    root: str | os.PathLike[str], rounds: Sequence[Round], conditions: Conditions
) -> Evidence:
    """The evidence of a folder, read inline."""
    return record_tree(FolderTree(root), rounds, conditions)


def record_tree(source: KernelTree, rounds: Sequence[Round], conditions: Conditions) -> Evidence:
    """The evidence of any tree that answers at once, read inline as a folder is."""
    return _record("folder", partial(_gather_inline, source, conditions), rounds, conditions)


def gather_inline(tasks: Sequence[Task], recorder: Recorder, progress: Progress) -> None:
    """Fill the recorder's journal with what the tasks ask, here and now."""
    for done, task in enumerate(tasks, start=1):
        run_task(task, recorder)
        progress(done, len(tasks), task.name)


def _gather_live(
    source: KernelTree, terms: CrewTerms, tasks: Sequence[Task], journal: Journal, most: int
) -> tuple[str, ...]:
    return gather(tasks, source, journal, replace(terms, children=most))


def _gather_inline(
    source: KernelTree, conditions: Conditions, tasks: Sequence[Task], journal: Journal, _: int
) -> tuple[str, ...]:
    recorder = Recorder(source, conditions.clock, secret=conditions.secret, journal=journal)
    gather_inline(tasks, recorder, conditions.progress)
    return ()


def _record(
    source: str, gather_tasks: Gather, rounds: Sequence[Round], conditions: Conditions
) -> Evidence:
    forbid_core_dumps()
    started = conditions.moment()
    journal: Journal = {}
    unfinished: list[str] = []
    gather_tasks([Task(name="kernel", ask=lambda tree: tree.read(RELEASE))], journal, 1)
    for done, next_tasks in enumerate(rounds, start=1):
        most = CHILDREN if done == len(rounds) else LISTERS
        unfinished += gather_tasks(next_tasks(RecordedTree(journal)), journal, most)
        conditions.look(done, RecordedTree(journal))
    header = Header(
        agent=conditions.agent,
        source=source,
        kernel=_kernel_release(journal),
        started=started,
        finished=conditions.moment(),
        unfinished=tuple(dict.fromkeys(unfinished)),
        references=conditions.references,
    )
    return seal_journal(header, journal)


def _kernel_release(journal: Journal) -> str:
    try:
        return RecordedTree(journal).read(RELEASE).decode("utf-8", "replace").strip()
    except ReadError as failure:
        return f"could not be read: {failure.code}"
