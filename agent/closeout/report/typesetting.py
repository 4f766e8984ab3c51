"""typst at work: a template of ours and what it is to say, to a PDF or to a picture.

What is said is handed over as JSON in inputs, which are values and no markup. No font of the system
is used and no clock is read, so the same inputs give the same bytes.
"""

from __future__ import annotations

import json
from collections.abc import Mapping
from importlib.metadata import version
from pathlib import Path
from typing import TYPE_CHECKING, Final

from closeout.report.failure import DocumentError

if TYPE_CHECKING:
    from typst import PDFStandard

STANDARDS: Final[tuple[PDFStandard, ...]] = ("a-3a", "ua-1")
"""PDF/A-3a (ISO 19005-3) and PDF/UA-1 (ISO 14289-1); what does not conform is refused."""


def typesetter() -> str:
    """Its name and version, as a colophon has it."""
    return f"typst {version('typst')}"


def set_pdf(template: Path, said: Mapping[str, object]) -> bytes:
    """The document. Raises DocumentError where it cannot be set."""
    import typst  # noqa: PLC0415 - only for paper

    try:
        return typst.compile(
            template.read_bytes(),
            format="pdf",
            pdf_standards=list(STANDARDS),
            sys_inputs=_as_inputs(said),
            ignore_system_fonts=True,
            timestamp=0,
        )
    except typst.TypstError as error:
        raise DocumentError(f"cannot be set: {error.message}") from error


def set_picture(template: Path, said: Mapping[str, object], dpi: float) -> bytes:
    """The one page as a PNG with so many dots an inch. Raises DocumentError."""
    import typst  # noqa: PLC0415 - only for paper

    try:
        return typst.compile(
            template.read_bytes(),
            format="png",
            ppi=dpi,
            sys_inputs=_as_inputs(said),
            ignore_system_fonts=True,
        )
    except typst.TypstError as error:
        raise DocumentError(f"cannot be set: {error.message}") from error


def _as_inputs(said: Mapping[str, object]) -> dict[str, str]:
    return {name: json.dumps(value) for name, value in said.items()}
