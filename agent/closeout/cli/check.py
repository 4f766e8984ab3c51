"""`closeout check`: judge the unit and write the report."""

from __future__ import annotations

import argparse
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import TYPE_CHECKING, Final

from closeout.check import judge_evidence, read_out
from closeout.cli.files import is_folder
from closeout.cli.handling import add_handling_arguments, hear
from closeout.cli.sealing import add_sealing_arguments, find_signer, seal_files
from closeout.cli.source import add_source_arguments, gather_evidence
from closeout.cli.surroundings import Surroundings
from closeout.cli.terms import Demands, load_demands
from closeout.cli.trouble import ExitCode, InputTroubleError
from closeout.cli.words import say_line, say_report
from closeout.expect.vocabulary import REPAIRS
from closeout.kernel.evidence import Evidence, EvidenceError
from closeout.kernel.evidence_file import encode_evidence
from closeout.model.frozen import frozen, replace
from closeout.model.report import Report
from closeout.model.verdict import Verdict
from closeout.report.as_json import render_json
from closeout.report.failure import StoreError
from closeout.report.page import render_page
from closeout.report.store import attempt_folder, draft_folder, next_attempt, write_new

if TYPE_CHECKING:
    from closeout.cli.stages import Stages
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


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Adds source, demands and output."""
    add_source_arguments(parser, is_many=True)
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
    parser.add_argument(
        "--no-questions", action="store_true", help="ask nothing at the terminal after the verdict"
    )
    parser.add_argument(
        "--again", metavar="REPORT", type=Path, help="rework: the attempt before, by its folder"
    )
    parser.add_argument(
        "--reopened",
        metavar="NAME",
        nargs="+",
        default=[],
        help="with --again: the repairs that were opened again since",
    )
    parser.add_argument(
        "--draft", action="store_true", help="a look on the way: not counted, nothing is asked"
    )
    add_handling_arguments(parser)
    add_sealing_arguments(parser)


def run(options: argparse.Namespace, surroundings: Surroundings) -> ExitCode:
    """Judges one unit, and the exit code is the verdict; or many recordings of units."""
    if options.evidence:
        first, *others = options.evidence
        if others or is_folder(first):
            from closeout.cli.batch import run_batch  # noqa: PLC0415 - few are of many units

            return run_batch(options, surroundings)
        options.evidence = first
    report, _ = check_unit(options, surroundings)
    return EXIT_CODES[report.verdict]


def check_unit(options: argparse.Namespace, surroundings: Surroundings) -> tuple[Report, Path]:
    """The report of one unit, which is written by then, and the folder of reports it is in."""
    signer = find_signer(options)
    demands, root = _load(options, surroundings)
    form = Form(
        as_json=options.json,
        quiet=options.quiet,
        redacted=options.redact,
        asks=not options.no_questions and not options.draft,
        signer=signer,
    )
    stages = _begin_stages(options, demands, form, surroundings)
    evidence = gather_evidence(options, surroundings, stages.look if stages else None)
    report = close_unit(evidence, demands, root, form, surroundings)
    if stages:
        stages.say_figures(report)
    return report, root


def _begin_stages(
    options: argparse.Namespace, demands: Demands, form: Form, surroundings: Surroundings
) -> Stages | None:
    """What a person at a terminal is told before the verdict, where anything is read at all."""
    if options.evidence or not form.is_in_words or not surroundings.stdout.isatty():
        return None
    from closeout.cli.stages import Stages  # noqa: PLC0415 - only where a person waits

    stages = Stages(demands, surroundings, redacted=form.redacted)
    stages.say_budget()
    return stages


def _load(options: argparse.Namespace, surroundings: Surroundings) -> tuple[Demands, Path]:
    """What the unit is judged by, and where its report belongs."""
    out = surroundings.folder / (options.out or REPORTS)
    heard = hear(options, surroundings)
    if options.again is None and not options.reopened:
        file = heard.file or options.work_order
        demands = load_demands(options.profile, file, (*options.repair, *heard.repairs))
        return heard.over(replace(demands, is_draft=options.draft)), out
    from closeout.cli.again import load_again  # noqa: PLC0415 - only after rework

    demands, root = load_again(options, out)
    return heard.over(demands), root


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
    files |= seal_files(files, signer)
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
