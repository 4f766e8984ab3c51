"""A new revision of an attempt, written beside the old, which stays as it is."""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import TYPE_CHECKING, Final

from closeout.cli.files import read_file
from closeout.cli.recorded_attempt import (
    EVIDENCE_FILE,
    ORDER_FILES,
    REPORT_FILE,
    RecordedAttempt,
    read_attempt,
)
from closeout.cli.sealing import add_sealing_arguments, find_signer, say_doubt, seal_files
from closeout.cli.source import LARGEST_EVIDENCE, moment_now
from closeout.cli.surroundings import Surroundings
from closeout.cli.trouble import InputTroubleError
from closeout.cli.typed_text import read_code, read_reason
from closeout.cli.words import say_line
from closeout.judge.named_finding import find_finding
from closeout.judge.saying import RefusedError, revise
from closeout.kernel.privacy import forbid_core_dumps
from closeout.model.finding import Answer, Concession, Reply
from closeout.model.report import Report
from closeout.report.as_json import render_json
from closeout.report.failure import StoreError
from closeout.report.page import render_page
from closeout.report.store import revision_id, write_new
from closeout.report.story import headline

if TYPE_CHECKING:
    from closeout.report.seal import Signer

COPIED: Final = (EVIDENCE_FILE, *ORDER_FILES)
"""What every revision of an attempt rests on."""


def add_saying_arguments(parser: argparse.ArgumentParser) -> None:
    """Adds the report and the finding."""
    parser.add_argument("report", metavar="REPORT", type=Path, help="an attempt's folder")
    parser.add_argument(
        "finding",
        metavar="FINDING",
        help="its number, its rule where there is one such finding, or RULE@SUBJECT",
    )


def add_author_arguments(parser: argparse.ArgumentParser) -> None:
    """Adds who says it, and why."""
    parser.add_argument("--by", metavar="CODE", required=True, help="who says it")
    parser.add_argument("--reason", metavar="TEXT", required=True, help="what was seen, or why")
    add_sealing_arguments(parser)


def write_revision(
    options: argparse.Namespace, reply: Reply | None, surroundings: Surroundings
) -> None:
    """Writes what was said as the next revision and says where; without a reply it is a concession.

    Raises InputTroubleError where it cannot be said of that finding, or not be written.
    """
    forbid_core_dumps()
    signer = find_signer(options)
    by, reason = read_code(options.by, "--by"), read_reason(options.reason, "--reason")
    before = read_attempt(options.report)
    said = Answer(reply=reply, by=by, reason=reason) if reply else Concession(by=by, reason=reason)
    try:
        number = find_finding(before.report.findings, options.finding)
        report = revise(before.report, number, said, moment_now(surroundings), before.digest)
    except RefusedError as refusal:
        raise InputTroubleError(f"{options.report}: {refusal}") from refusal
    folder = _store(report, before, signer)
    say_line(f"{report.revisions[-1].change}.", surroundings.stdout)
    for line in (headline(report), *(f"- {reason}" for reason in report.reasons)):
        say_line(line, surroundings.stdout)
    say_line(f"Report: {folder}", surroundings.stdout)
    say_doubt(signer, report.written, surroundings)


def _store(report: Report, before: RecordedAttempt, signer: Signer | None) -> Path:
    facts = report.circumstances
    name = revision_id(facts.attempt, facts.evidence_digest, report.revision)
    folder = before.folder.with_name(name)
    files = {REPORT_FILE: render_json(report), "report.html": render_page(report).encode()}
    files |= seal_files(files[REPORT_FILE], signer)
    for copied in COPIED:
        if (before.folder / copied).exists():
            files[copied] = read_file(before.folder / copied, LARGEST_EVIDENCE)
    try:
        write_new(folder, files)
    except StoreError as error:
        raise InputTroubleError(f"the revision was not written: {error}") from error
    return folder
