"""Whether the pages of a document are those that its report gives: made again, and compared."""

from __future__ import annotations

from pathlib import Path
from typing import Final

from closeout.cli.documents import AGENT, Record, read_record
from closeout.cli.files import is_file
from closeout.report.added import is_only_signed
from closeout.report.colophon import Colophon, load_colophon
from closeout.report.document import render_document
from closeout.report.embedded import COLOPHON
from closeout.report.failure import DocumentError, ReportError
from closeout.report.typesetting import typesetter

SAME: Final = "Pages: byte for byte what {agent} makes of the report in it."
SIGNED: Final = (
    "Pages: byte for byte what {agent} makes of the report in it; behind them stands a signature"
    " that is not looked at here."
)
CHANGED: Final = (
    "PAGES CHANGED: {agent} makes other pages of the report in it; believe the report, not these."
)
NOT_COMPARED: Final = (
    "Pages not compared: {why}. What is printed on them proves nothing; the report in it counts,"
    " and closeout report pdf FILE --out NEW makes its pages anew."
)


def judge_pages(record: Record) -> tuple[bool, str]:
    """Whether the pages of a document are those of its report, and what to say of them.

    Pages that cannot be compared may say anything: what tells that another version made them is
    not sealed, and whoever changes pages can change it too.
    """
    try:
        colophon = load_colophon(_read_colophon(record.folder))
    except ReportError:
        return False, NOT_COMPARED.format(why=f"it has no {COLOPHON} that says how it was made")
    own, made_by = f"{AGENT} with {typesetter()}", f"{colophon.agent} with {colophon.typesetter}"
    if made_by != own:
        return False, NOT_COMPARED.format(why=f"they were made by {made_by}, and this is {own}")
    return _compare(record, colophon, own)


def _read_colophon(folder: Path) -> bytes:
    file = folder / COLOPHON
    return file.read_bytes() if is_file(file) else b""


def _compare(record: Record, colophon: Colophon, own: str) -> tuple[bool, str]:
    try:
        made = render_document(read_record(record.folder), colophon)
    except (DocumentError, ReportError) as error:
        return False, NOT_COMPARED.format(why=f"they cannot be made again: {error}")
    if record.document == made:
        return True, SAME.format(agent=own)
    if is_only_signed(made, record.document):
        return True, SIGNED.format(agent=own)
    return False, CHANGED.format(agent=own)
