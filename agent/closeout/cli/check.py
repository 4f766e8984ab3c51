"""`closeout check`: judge the unit and write the report."""

import argparse
from collections.abc import Mapping
from pathlib import Path
from typing import Final

from closeout.check import judge_evidence, read_out
from closeout.cli.source import add_source_arguments, gather_evidence
from closeout.cli.surroundings import Surroundings
from closeout.cli.terms import Demands, load_demands
from closeout.cli.trouble import ExitCode, InputTroubleError
from closeout.cli.words import say_line, say_report
from closeout.expect.vocabulary import REPAIRS
from closeout.kernel.evidence import Evidence, EvidenceError
from closeout.kernel.evidence_file import encode_evidence
from closeout.model.frozen import frozen
from closeout.model.report import Report
from closeout.model.verdict import Verdict
from closeout.report.as_json import render_json
from closeout.report.failure import StoreError
from closeout.report.page import render_page
from closeout.report.store import attempt_folder, next_attempt, write_new

REPORTS: Final = Path("closeout-reports")
EXIT_CODES: Final[Mapping[Verdict, ExitCode]] = {
    Verdict.RELEASE: ExitCode.RELEASE,
    Verdict.HOLD: ExitCode.HOLD,
    Verdict.UNDECIDED: ExitCode.UNDECIDED,
}
NOT_WRITTEN: Final = "the report was not written"
UNCOUNTED: Final = 0
"""The attempt of a report that is only said, for its place cannot be looked into."""


@frozen
class Form:
    """How a report is said, and whether personal data stays in it."""

    as_json: bool = False
    quiet: bool = False
    redacted: bool = False


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Adds source, demands and output."""
    add_source_arguments(parser)
    parser.add_argument("--work-order", metavar="FILE", type=Path, help="this unit, this repair")
    parser.add_argument(
        "--profile", metavar="FILE|ID", help="what the model must have (else: chosen by the unit)"
    )
    parser.add_argument(
        "--repair",
        metavar="NAME",
        action="append",
        default=[],
        choices=REPAIRS,
        help=f"what was repaired, beside what the order says: {', '.join(REPAIRS)}",
    )
    parser.add_argument(
        "--out", metavar="DIR", type=Path, help=f"folder for reports (else: ./{REPORTS})"
    )
    parser.add_argument("--json", action="store_true", help="print report.json and nothing else")
    parser.add_argument("--redact", action="store_true", help="mask serials and addresses")


def run(options: argparse.Namespace, surroundings: Surroundings) -> ExitCode:
    """Judges one unit; the exit code is the verdict."""
    demands = load_demands(options.profile, options.work_order, options.repair)
    evidence = gather_evidence(options, surroundings)
    root = surroundings.folder / (options.out or REPORTS)
    form = Form(as_json=options.json, quiet=options.quiet, redacted=options.redact)
    report = close_unit(evidence, demands, root, form, surroundings)
    return EXIT_CODES[report.verdict]


def close_unit(
    evidence: Evidence, demands: Demands, root: Path, form: Form, surroundings: Surroundings
) -> Report:
    """The report of one run, said and then written as the next attempt of its order.

    Raises InputTroubleError where it cannot be written; the verdict is said all the same.
    """
    try:
        attempt, obstacle = next_attempt(root, demands.order_id), None
    except StoreError as error:
        attempt, obstacle = UNCOUNTED, error
    readout = read_out(evidence)
    report = judge_evidence(evidence, readout, demands.terms(readout.inventory, attempt))
    shown = _redacted(report) if form.redacted else report
    try:
        say_report(shown, surroundings, as_json=form.as_json, quiet=form.quiet)
        surroundings.stdout.flush()
    finally:
        # What was found is kept also when nobody listens any more.
        if obstacle:
            raise InputTroubleError(f"{NOT_WRITTEN}: {obstacle}") from obstacle
        folder = _store(shown, evidence, root)
    if not form.as_json and not form.quiet:
        say_line(f"Report: {folder}", surroundings.stdout)
    return report


def _redacted(report: Report) -> Report:
    from closeout.report.redact import redact  # noqa: PLC0415 - few reports are

    return redact(report)


def _store(report: Report, evidence: Evidence, root: Path) -> Path:
    """The attempt's folder; evidence holds personal data, so not beside a redacted report."""
    facts = report.circumstances
    folder = attempt_folder(root, facts.order, facts.attempt, facts.evidence_digest)
    files = {
        "report.json": render_json(report),
        "report.html": render_page(report).encode(),
    }
    try:
        if not report.redacted:
            files["evidence.jsonl.gz"] = encode_evidence(evidence)
        write_new(folder, files)
    except (EvidenceError, StoreError) as error:
        raise InputTroubleError(f"{NOT_WRITTEN}: {error}") from error
    return folder
