"""Rework: what is taken over from the attempt before, and what has to be given again."""

from __future__ import annotations

import argparse
from functools import partial
from pathlib import Path

from closeout.cli.files import read_file
from closeout.cli.named_repairs import read_repairs
from closeout.cli.recorded_attempt import (
    EVIDENCE_FILE,
    RecordedAttempt,
    is_order_of,
    order_beside,
    read_attempt,
)
from closeout.cli.source import LARGEST_EVIDENCE
from closeout.cli.terms import Demands, load_demands
from closeout.cli.trouble import InputTroubleError
from closeout.expect.choose import ANY_NOTEBOOK
from closeout.expect.load import Mistakes, load_profile
from closeout.expect.mistake import quote
from closeout.expect.repair_map import load_repair_map
from closeout.expect.scanned_order import SCANNED, mark_scanned
from closeout.judge.keep import Disturbs, Proofs
from closeout.model.frozen import replace
from closeout.model.handling import EarlierAttempt
from closeout.model.report import Report
from closeout.report.failure import StoreError
from closeout.report.store import next_attempt, order_folder


def load_again(options: argparse.Namespace, out: Path) -> tuple[Demands, Path]:
    """The demands of the next attempt, and the folder of reports that it belongs in.

    Order and profile are those of the earlier attempt unless they are given again; without --out
    the report goes where that one is. Raises InputTroubleError where something is missing.
    """
    if options.again is None:
        raise InputTroubleError("--reopened goes with --again REPORT, the attempt before")
    reopened = read_repairs(options.reopened, "--reopened")
    before = read_attempt(options.again)
    root = _root_of(before, out, is_named=bool(options.out))
    _refuse_older(before, root)
    _refuse_same_readings(before, options.evidence)
    report = before.report
    repairs = (*report.circumstances.repairs, *options.repair, *reopened)
    demands = load_demands(_profile(options, report), _order(options, before), repairs)
    made = report.circumstances.work_order
    if demands.work_order and made and made.revision == SCANNED and not options.work_order:
        demands = replace(demands, work_order=mark_scanned(demands.work_order))
    if demands.order_id != report.circumstances.order:
        raise InputTroubleError(
            f"--work-order: it is of order {quote(demands.order_id)}, and attempt"
            f" {report.circumstances.attempt} of {quote(report.circumstances.order)}"
        )
    proofs = Proofs(
        findings=report.findings,
        attempt=report.circumstances.attempt,
        at=report.circumstances.finished,
        disturbs=disturbed_by(reopened),
    )
    again = replace(
        demands,
        earlier=(*report.earlier, tell_attempt(before)),
        reopened=reopened,
        is_draft=options.draft,
        kept=proofs,
    )
    return again, root


def disturbed_by(reopened: tuple[str, ...]) -> Disturbs:
    """Whether a proof under a rule is void once these repairs were done again."""
    return partial(load_repair_map().disturbs, reopened)


def tell_attempt(before: RecordedAttempt) -> EarlierAttempt:
    """What the next attempts say of this one."""
    report = before.report
    facts = report.circumstances
    return EarlierAttempt(
        attempt=facts.attempt,
        revision=report.revision,
        verdict=report.verdict.value,
        reasons=report.reasons,
        reopened=facts.reopened,
        started=facts.started,
        digest=before.digest,
    )


def _root_of(before: RecordedAttempt, out: Path, *, is_named: bool) -> Path:
    """The folder of reports that was named, else the one that the earlier attempt lies in."""
    root = before.folder.parent.parent
    is_at_home = order_folder(root, before.report.circumstances.order) == before.folder.parent
    return root if is_at_home and not is_named else out


def _refuse_older(before: RecordedAttempt, root: Path) -> None:
    """Without an order the folder holds many units, and none can be told from another."""
    facts = before.report.circumstances
    try:
        newest = next_attempt(root, facts.order) - 1 if facts.order else facts.attempt
    except StoreError as error:
        raise InputTroubleError(str(error)) from error
    if newest > facts.attempt:
        raise InputTroubleError(
            f"{before.folder}: attempt {newest} of this order is there; give that one"
        )


def _refuse_same_readings(before: RecordedAttempt, evidence: Path | None) -> None:
    beside = before.folder / EVIDENCE_FILE
    if evidence is None or not beside.exists():
        return
    if read_file(evidence, LARGEST_EVIDENCE) == read_file(beside, LARGEST_EVIDENCE):
        raise InputTroubleError(
            f"{evidence}: the readings of the attempt before; after rework the unit is read anew"
        )


def _order(options: argparse.Namespace, before: RecordedAttempt) -> Path | None:
    """The file that was named, else the copy beside the report."""
    facts = before.report.circumstances
    if options.work_order is not None:
        return Path(options.work_order)
    if facts.work_order is None and not facts.order:
        return None
    file = order_beside(before.folder)
    if file is None:
        raise InputTroubleError(
            f"{before.folder}: no copy of the order beside this report; give it with --work-order"
        )
    if not is_order_of(file, before.report):
        raise InputTroubleError(
            f"{file}: changed since attempt {facts.attempt}; give the order with --work-order"
        )
    return file


def _profile(options: argparse.Namespace, report: Report) -> str | None:
    """The profile that was named, else the earlier one; one for any unit is chosen anew."""
    if options.profile:
        return str(options.profile)
    name = report.circumstances.profile.name
    if name == ANY_NOTEBOOK:
        return None
    if isinstance(load_profile(name), Mistakes):
        raise InputTroubleError(
            f"the profile {quote(name)} of attempt {report.circumstances.attempt} is not among"
            " those that ship; give its file with --profile"
        )
    return name
