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
from closeout.cli.words import say_report
from closeout.kernel.evidence import Evidence
from closeout.kernel.evidence_file import encode_evidence
from closeout.model.report import Report
from closeout.model.verdict import Verdict
from closeout.report.as_json import render_json
from closeout.report.failure import StoreError
from closeout.report.redact import redact
from closeout.report.store import attempt_folder, next_attempt, write_new

REPORTS: Final = Path("closeout-reports")
EXIT_CODES: Final[Mapping[Verdict, ExitCode]] = {
    Verdict.RELEASE: ExitCode.RELEASE,
    Verdict.HOLD: ExitCode.HOLD,
    Verdict.UNDECIDED: ExitCode.UNDECIDED,
}


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Adds source, demands and output."""
    add_source_arguments(parser)
    parser.add_argument("--work-order", metavar="FILE", type=Path, help="this unit, this repair")
    parser.add_argument(
        "--profile", metavar="FILE|ID", help="what the model must have (else: chosen by the unit)"
    )
    parser.add_argument(
        "--out", metavar="DIR", type=Path, help=f"folder for reports (else: ./{REPORTS})"
    )
    parser.add_argument("--json", action="store_true", help="print report.json and nothing else")
    parser.add_argument("--redact", action="store_true", help="mask serials and addresses")


def run(options: argparse.Namespace, surroundings: Surroundings) -> ExitCode:
    """Judges one unit; the exit code is the verdict."""
    demands = load_demands(options.profile, options.work_order)
    evidence = gather_evidence(options, surroundings)
    root = surroundings.folder / (options.out or REPORTS)
    report = judge_unit(evidence, demands, root)
    shown = redact(report) if options.redact else report
    say_report(shown, surroundings, as_json=options.json, quiet=options.quiet)
    folder = store_report(shown, evidence, root)
    if not options.json and not options.quiet:
        surroundings.stdout.write(f"Report: {folder}\n")
    return EXIT_CODES[report.verdict]


def judge_unit(evidence: Evidence, demands: Demands, root: Path) -> Report:
    """The report of one run, as the next attempt of its order under `root`."""
    readout = read_out(evidence)
    try:
        attempt = next_attempt(root, demands.order_id)
    except StoreError as error:
        raise InputTroubleError(str(error)) from error
    return judge_evidence(evidence, readout, demands.terms(readout.inventory, attempt))


def store_report(report: Report, evidence: Evidence, root: Path) -> Path:
    """Writes the attempt's folder; evidence holds personal data, so not beside a redacted report.

    Raises InputTroubleError where it cannot be written.
    """
    from closeout.report.page import render_page  # noqa: PLC0415 - loads the template engine

    facts = report.circumstances
    folder = attempt_folder(root, facts.order, facts.attempt, facts.evidence_digest)
    files = {
        "report.json": render_json(report),
        "report.html": render_page(report).encode(),
    }
    if not report.redacted:
        files["evidence.jsonl.gz"] = encode_evidence(evidence)
    try:
        write_new(folder, files)
    except StoreError as error:
        raise InputTroubleError(f"the report was not written: {error}") from error
    return folder
