"""An attempt that was written: found, loaded, and taken only where it is the record itself."""

from __future__ import annotations

from hashlib import sha256
from pathlib import Path
from typing import Final

from closeout.cli.files import is_file, read_file
from closeout.cli.trouble import InputTroubleError
from closeout.expect.document import LARGEST_FILE
from closeout.model.frozen import frozen
from closeout.model.report import Report
from closeout.report.failure import ReportError, StoreError
from closeout.report.from_json import load_report
from closeout.report.store import attempt_id, newest_revision, revision_id

REPORT_FILE: Final = "report.json"
EVIDENCE_FILE: Final = "evidence.jsonl.gz"
ORDER_FILES: Final = ("work-order.toml", "work-order.json")
LARGEST_REPORT: Final = 64 << 20
REDACTED: Final = "a redacted copy is not the record; give the report that it was made of"
DRAFT: Final = "a draft is no attempt; check the unit without --draft"
COPY: Final = "a copy is not the record; where it was written its folder is called"
NEWER: Final = "there is a newer revision of it: give"


@frozen
class RecordedAttempt:
    """A report with its folder and the very bytes that it was loaded from."""

    folder: Path
    raw: bytes
    report: Report

    @property
    def digest(self) -> str:
        """SHA-256 of the bytes, in hex."""
        return sha256(self.raw).hexdigest()


def order_beside(folder: Path) -> Path | None:
    """The file of the order that lies in the folder."""
    return next((folder / name for name in ORDER_FILES if is_file(folder / name)), None)


def is_order_of(file: Path, report: Report) -> bool:
    """Whether it is still the order that the report was judged by."""
    made = report.circumstances.work_order
    return made is None or sha256(read_file(file, LARGEST_FILE)).hexdigest() == made.digest


def read_attempt(named: Path) -> RecordedAttempt:
    """The newest revision of an attempt, by its folder or its `report.json`.

    Raises InputTroubleError for what is no report, a redacted one, a draft, a copy under another
    name, and a revision that is not the newest.
    """
    folder = named.parent if named.name == REPORT_FILE else named
    if named.name != REPORT_FILE and named.is_file():
        raise InputTroubleError(f"{named}: give the folder of an attempt, or its {REPORT_FILE}")
    file = folder / REPORT_FILE
    raw = read_file(file, LARGEST_REPORT)
    try:
        report = load_report(raw)
    except ReportError as error:
        raise InputTroubleError(f"{file}: no report: {error}") from error
    if refusal := _refusal(folder.resolve(), report):
        raise InputTroubleError(f"{file}: {refusal}")
    return RecordedAttempt(folder=folder.resolve(), raw=raw, report=report)


def newer_beside(folder: Path, report: Report) -> str:
    """The name of the newest revision beside the folder of another one; mostly there is none."""
    facts = report.circumstances
    own = attempt_id(facts.attempt, facts.evidence_digest)
    if folder.name != revision_id(facts.attempt, facts.evidence_digest, report.revision):
        return ""
    try:
        newest = newest_revision(folder.parent, own)
    except StoreError:
        return ""
    newer = revision_id(facts.attempt, facts.evidence_digest, newest)
    return newer if newest > report.revision else ""


def _refusal(folder: Path, report: Report) -> str:
    facts = report.circumstances
    if report.redacted:
        return REDACTED
    if facts.is_draft or facts.attempt < 1:
        return DRAFT
    own = attempt_id(facts.attempt, facts.evidence_digest)
    wanted = revision_id(facts.attempt, facts.evidence_digest, report.revision)
    if folder.name != wanted:
        return f"{COPY} {wanted}"
    try:
        newest = newest_revision(folder.parent, own)
    except StoreError as error:
        return str(error)
    if newest > report.revision:
        return f"{NEWER} {own}-r{newest}"
    return ""
