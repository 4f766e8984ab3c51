"""One recording after the other judged by as many processes as there are processors."""

from __future__ import annotations

import gc
import os
import signal
from collections import deque
from collections.abc import Iterator, Sequence
from concurrent.futures import Future, ProcessPoolExecutor
from concurrent.futures.process import BrokenProcessPool
from multiprocessing import get_context
from pathlib import Path
from typing import Final

from closeout.check import judge_evidence, read_out
from closeout.cli.closing import EXIT_CODES, Form, store_report
from closeout.cli.files import is_folder
from closeout.cli.sealing import doubt_seal
from closeout.cli.source import load_evidence
from closeout.cli.terms import load_demands
from closeout.cli.trouble import ExitCode, InputTroubleError
from closeout.expect.set_statement import SignedSets
from closeout.kernel.parent import end_with_parent
from closeout.model.frozen import frozen, replace
from closeout.model.report import Report
from closeout.model.verdict import Verdict
from closeout.report.seal import Signer
from closeout.report.store import attempt_folder
from closeout.report.story import in_short

IN_HAND: Final = 8
"""Recordings that wait for each process: enough that none is idle, few enough for the memory."""
BETWEEN_CLEANING: Final = 32
KILLED: Final = "the process that judged it was ended from outside, or by too little memory"


@frozen
class Setting:
    """What all are judged by, and where their reports go."""

    root: Path
    profile: str | None = None
    repairs: tuple[str, ...] = ()
    secret: bytes | None = None
    is_redacted: bool = False
    is_draft: bool = False
    signer: Signer | None = None
    signed_sets: SignedSets | None = None


@frozen
class Job:
    """One recording, the file of its order beside it, and the number of its attempt."""

    file: Path
    order: Path | None
    attempt: int


@frozen
class Outcome:
    """A verdict with its words and the report's folder; without one `troubles`, else doubts.

    `code` is how the command would end for this recording alone.
    """

    file: Path
    code: ExitCode
    verdict: Verdict | None = None
    words: str = ""
    report: Path | None = None
    troubles: tuple[str, ...] = ()


def judge_all(jobs: Sequence[Job], setting: Setting) -> Iterator[Outcome]:
    """The outcome of each, in the order of the jobs.

    A process that is killed costs its own recording alone: those that were in hand are judged once
    more, each by a process of its own, and the others go on.
    """
    workers = min(len(os.sched_getaffinity(0)), len(jobs))
    if workers <= 1:
        yield from (judge_one(job, setting) for job in jobs)
        return
    waiting = deque(jobs)
    while waiting:
        in_hand: deque[tuple[Job, Future[Outcome]]] = deque()
        with _pool_of(workers) as pool:
            try:
                while waiting or in_hand:
                    _hand_out(waiting, in_hand, pool, setting, workers)
                    outcome = in_hand[0][1].result()
                    in_hand.popleft()
                    yield outcome
            except BrokenProcessPool:
                pass
        for job, future in in_hand:
            yield _as_it_came(future) or _judge_alone(job, setting)


def _hand_out(
    waiting: deque[Job],
    in_hand: deque[tuple[Job, Future[Outcome]]],
    pool: ProcessPoolExecutor,
    setting: Setting,
    workers: int,
) -> None:
    while waiting and len(in_hand) < workers * IN_HAND:
        future = pool.submit(judge_one, waiting[0], setting)
        in_hand.append((waiting.popleft(), future))


def _as_it_came(future: Future[Outcome]) -> Outcome | None:
    """What it came to before the others were lost."""
    is_done = future.done() and not future.cancelled() and future.exception() is None
    return future.result() if is_done else None


def _judge_alone(job: Job, setting: Setting) -> Outcome:
    with _pool_of(1) as pool:
        try:
            return pool.submit(judge_one, job, setting, is_again=True).result()
        except BrokenProcessPool:
            return _failed(job, KILLED)


def _pool_of(number: int) -> ProcessPoolExecutor:
    return ProcessPoolExecutor(number, mp_context=get_context("fork"), initializer=_begin)


def _begin() -> None:
    """The operator stops the command, which ends its processes; and they end with it."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    end_with_parent()


def judge_one(job: Job, setting: Setting, *, is_again: bool = False) -> Outcome:
    """One recording judged and its report written; whatever goes wrong is in the outcome.

    `is_again` where it was in hand when a process was killed: its report may be there already.
    """
    if job.attempt % BETWEEN_CLEANING == 0:
        gc.collect()  # a command makes no garbage worth looking for; one for hundreds of units does
    try:
        return _judge(job, setting, is_again=is_again)
    except InputTroubleError as trouble:
        return Outcome(file=job.file, code=ExitCode.BAD_INPUT, troubles=trouble.lines)
    except Exception as error:  # noqa: BLE001 - one recording must never cost the others
        fault = f"an error of closeout itself ({type(error).__name__}: {error}); please report it"
        return _failed(job, fault)


def _failed(job: Job, fault: str) -> Outcome:
    return Outcome(file=job.file, code=ExitCode.INTERNAL, troubles=(f"{job.file}: {fault}",))


def _judge(job: Job, setting: Setting, *, is_again: bool) -> Outcome:
    evidence = load_evidence(job.file, setting.secret)
    demands = load_demands(setting.profile, job.order, setting.repairs).at_station(setting.signer)
    demands = replace(demands, is_draft=setting.is_draft, signed_sets=setting.signed_sets)
    readout = read_out(evidence)
    attempt = 0 if setting.is_draft else job.attempt
    report = judge_evidence(evidence, readout, demands.terms(readout.inventory, attempt))
    shown = Form(redacted=setting.is_redacted).hide(report)
    folder = _written_before(shown, setting.root) if is_again else None
    if folder is None:
        folder = store_report(shown, evidence, demands, setting.root, setting.signer)
    return Outcome(
        file=job.file,
        code=EXIT_CODES[shown.verdict],
        verdict=shown.verdict,
        words="; ".join(in_short(shown)),
        report=folder,
        troubles=tuple(f"{job.file}: {line}" for line in doubt_seal(setting.signer, shown.written)),
    )


def _written_before(report: Report, root: Path) -> Path | None:
    """Where this very report is already: its place is of the attempt and of the evidence."""
    facts = report.circumstances
    folder = attempt_folder(root, facts.order, facts.attempt, facts.evidence_digest)
    return folder if is_folder(folder) else None
