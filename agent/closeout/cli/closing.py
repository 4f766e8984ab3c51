"""A unit closed: its evidence judged, said, answered, and the report of it written."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from pathlib import Path
from typing import TYPE_CHECKING, Final

from closeout.check import judge_evidence, read_out
from closeout.cli.sealing import say_doubt, seal_files
from closeout.cli.surroundings import Surroundings
from closeout.cli.terms import Demands
from closeout.cli.trouble import ExitCode, InputTroubleError
from closeout.cli.words import say_line, say_report
from closeout.kernel.evidence import Evidence, EvidenceError
from closeout.kernel.evidence_file import encode_evidence
from closeout.model.frozen import frozen
from closeout.model.report import Report
from closeout.model.verdict import Verdict
from closeout.report.as_json import render_json
from closeout.report.failure import StoreError
from closeout.report.page import render_page
from closeout.report.store import attempt_folder, draft_folder, next_attempt, write_new

if TYPE_CHECKING:
    from closeout.report.seal import Signer

REPORTS: Final = Path("closeout-reports")
EXIT_CODES: Final[Mapping[Verdict, ExitCode]] = {
    Verdict.RELEASE: ExitCode.RELEASE,
    Verdict.HOLD: ExitCode.HOLD,
    Verdict.UNDECIDED: ExitCode.UNDECIDED,
}
NOT_WRITTEN: Final = "the report was not written"
UNCOUNTED: Final = 0
"""The attempt of a draft, and of a report that is only said: its place cannot be looked into."""


@frozen
class Form:
    """How a report is said, what stays in it, who is asked, and by which station it is sealed."""

    as_json: bool = False
    quiet: bool = False
    redacted: bool = False
    asks: bool = False
    signer: Signer | None = None

    @property
    def is_in_words(self) -> bool:
        """A person reads along; not so for JSON, and for one line at the end."""
        return not self.as_json and not self.quiet

    def hide(self, report: Report) -> Report:
        """The report as it may be seen and written."""
        return _redacted(report) if self.redacted else report


def _as_it_is(report: Report) -> Report:
    return report


def close_unit(
    evidence: Evidence,
    demands: Demands,
    root: Path,
    form: Form,
    surroundings: Surroundings,
    answer: Callable[[Report], Report] = _as_it_is,
) -> Report:
    """The report of one run, said and then written as the next attempt of its order.

    `answer` adds what a person has said already. Raises InputTroubleError where it cannot be
    written; the verdict is said all the same.
    """
    try:
        attempt, obstacle = _number(root, demands), None
    except StoreError as error:
        attempt, obstacle = UNCOUNTED, error
    readout = read_out(evidence)
    report = judge_evidence(evidence, readout, demands.terms(readout.inventory, attempt))
    report = answer(report)
    try:
        say_report(form.hide(report), surroundings, as_json=form.as_json, quiet=form.quiet)
        surroundings.stdout.flush()
        report = _ask(report, form, surroundings)
    finally:
        # What was found is kept also when nobody listens any more.
        if obstacle:
            raise InputTroubleError(f"{NOT_WRITTEN}: {obstacle}") from obstacle
        folder = store_report(form.hide(report), evidence, demands, root, form.signer)
    if form.is_in_words:
        say_line(f"Report: {folder}", surroundings.stdout)
    say_doubt(form.signer, report.written, surroundings)
    return report


def _number(root: Path, demands: Demands) -> int:
    """The number of the attempt; a draft has none. Raises StoreError."""
    after_earlier = 1 + max((each.attempt for each in demands.earlier), default=0)
    counted = max(next_attempt(root, demands.order_id), after_earlier)
    return UNCOUNTED if demands.is_draft else counted


def _ask(report: Report, form: Form, surroundings: Surroundings) -> Report:
    """The report with what a person at the terminal answered."""
    is_dialogue = surroundings.stdin.isatty() and surroundings.stdout.isatty()
    if not (form.asks and form.is_in_words and is_dialogue):
        return report
    from closeout.cli.ask import put_questions  # noqa: PLC0415 - only where a person sits

    return put_questions(report, surroundings, form.hide)


def _redacted(report: Report) -> Report:
    from closeout.report.redact import redact  # noqa: PLC0415 - few reports are

    return redact(report)


def store_report(
    report: Report,
    evidence: Evidence,
    demands: Demands,
    root: Path,
    signer: Signer | None = None,
) -> Path:
    """The attempt's folder; evidence and order are personal, so not beside a redacted report."""
    facts = report.circumstances
    files = {
        "report.json": render_json(report),
        "report.html": render_page(report).encode(),
    }
    files |= seal_files(files["report.json"], signer)
    try:
        if facts.is_draft:
            folder = draft_folder(root, facts.order, facts.evidence_digest)
        else:
            folder = attempt_folder(root, facts.order, facts.attempt, facts.evidence_digest)
        if not report.redacted:
            files |= {"evidence.jsonl.gz": encode_evidence(evidence), **demands.order_file}
        write_new(folder, files)
    except (EvidenceError, StoreError) as error:
        raise InputTroubleError(f"{NOT_WRITTEN}: {error}") from error
    return folder
