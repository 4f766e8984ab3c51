"""`closeout check`: judge the unit and write the report."""

from __future__ import annotations

import argparse
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING

from closeout.cli.closing import EXIT_CODES, REPORTS, Form, close_unit
from closeout.cli.files import is_folder
from closeout.cli.handling import add_handling_arguments, hear
from closeout.cli.lead import add_lead_argument, signed_sets
from closeout.cli.sealing import add_sealing_arguments, find_signer
from closeout.cli.source import add_source_arguments, gather_evidence
from closeout.cli.surroundings import Surroundings
from closeout.cli.terms import Demands, load_demands
from closeout.cli.trouble import ExitCode
from closeout.expect.vocabulary import REPAIRS
from closeout.model.frozen import replace
from closeout.model.report import Report

if TYPE_CHECKING:
    from closeout.cli.stages import Stages
    from closeout.report.seal import Signer


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
    add_lead_argument(parser)


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


def check_unit(
    options: argparse.Namespace,
    surroundings: Surroundings,
    find_station: Callable[[argparse.Namespace], Signer | None] = find_signer,
) -> tuple[Report, Path]:
    """The report of one unit, which is written by then, and the folder of reports it is in."""
    signer = find_station(options)
    demands, root = _load(options, surroundings)
    demands = replace(demands.at_station(signer), signed_sets=signed_sets(options))
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
