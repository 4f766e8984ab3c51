"""What page one of a document says beside the report: marks, the code, and what the file holds.

A mark is what must not be overlooked. To add one, add its line to `report_marks`.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Final

from closeout.model.frozen import frozen
from closeout.model.report import Report
from closeout.model.unrun import Unrun
from closeout.report.colophon import Colophon
from closeout.report.embedded import COLOPHON, REPORT, UNRUN, UNRUN_SEAL
from closeout.report.foreign import make_safe
from closeout.report.html import Html, fill
from closeout.report.qr_code import digest_of, tell_identity, tell_unrun
from closeout.report.seal import SEAL_FILE, name_key

CHECK_IT: Final = "closeout report verify says whether page and report are what they claim"


@frozen
class Mark:
    """What must not be overlooked, in capitals and in words."""

    title: str
    words: str


@frozen
class Front:
    """The marks, the lines about the document, the text of its code, and its foot."""

    marks: tuple[Mark, ...]
    lines: tuple[tuple[str, Html], ...]
    code: str
    foot: str


def front_of_report(report: Report, files: Mapping[str, bytes], colophon: Colophon) -> Front:
    """For a report with the files that lie beside it."""
    raw = files[REPORT]
    return Front(
        marks=tuple(report_marks(report, files, colophon)),
        lines=(
            ("Digest", _exact(digest_of(raw), f"SHA-256 of {REPORT}")),
            ("Seal", _tell_seal(files.get(SEAL_FILE), SEAL_FILE)),
            ("Judged again", fill("{}", _tell_judged(report, colophon))),
            ("Holds", _tell_files(files)),
        ),
        code=tell_identity(report, raw),
        foot=_foot(REPORT, raw),
    )


def front_of_unrun(unrun: Unrun, files: Mapping[str, bytes], colophon: Colophon) -> Front:
    """For the record of a unit that was not judged."""
    raw = files[UNRUN]
    return Front(
        marks=(
            Mark(title="NOT RUN", words="no verdict, and no release"),
            *_seal_marks(files.get(UNRUN_SEAL)),
        ),
        lines=(
            ("Digest", _exact(digest_of(raw), f"SHA-256 of {UNRUN}")),
            ("Seal", _tell_seal(files.get(UNRUN_SEAL), UNRUN_SEAL)),
            ("Made by", fill("{}, {}", colophon.agent, colophon.typesetter)),
            ("Holds", _tell_files(files)),
        ),
        code=tell_unrun(unrun, raw),
        foot=_foot(UNRUN, raw),
    )


def report_marks(
    report: Report, files: Mapping[str, bytes], colophon: Colophon | None
) -> Iterator[Mark]:
    """What must not be overlooked of a report; without a colophon it was not judged again."""
    if report.circumstances.is_draft:
        yield Mark(title="DRAFT", words="counts as no attempt")
    if report.redacted:
        yield Mark(title="REDACTED", words="serials, addresses and tokens are masked")
    yield from _seal_marks(files.get(SEAL_FILE))
    if colophon and colophon.judged and not colophon.judged.is_same:
        told = f"{colophon.agent} says {colophon.judged.verdict.value} of the same evidence"
        yield Mark(title="JUDGED OTHERWISE", words=told)


def _seal_marks(seal: bytes | None) -> Iterator[Mark]:
    if not name_key(seal or b""):
        yield Mark(title="NOT SEALED", words="nobody can tell whether it was changed")


def _tell_seal(seal: bytes | None, name: str) -> Html:
    if seal is None:
        return fill("none")
    key = name_key(seal)
    if not key:
        return fill("{} is no seal", name)
    return fill('by the key <span class="exact">{}</span>; {}', key, CHECK_IT)


def _tell_judged(report: Report, colophon: Colophon) -> str:
    """What was said when the document was made."""
    judged = colophon.judged
    made_by = f"{colophon.agent}, {colophon.typesetter}"
    if judged is None:
        return f"not by {made_by}, which made this document: evidence or order is not beside it"
    if judged.is_same:
        return f"by {made_by}, which made this document: {judged.verdict.value}, the same findings"
    then = report.verdict.value
    return f"by {made_by}, which made this document: {judged.verdict.value}; then {then}"


def _tell_files(files: Mapping[str, bytes]) -> Html:
    return fill('<span class="exact">{}</span>', ", ".join([*files, COLOPHON]))


def _exact(text: str, words: str) -> Html:
    return fill('<span class="exact">{}</span> {}', text, words)


def _foot(name: str, raw: bytes) -> str:
    return make_safe(f"{name} sha256 {digest_of(raw)[:16]}…")
