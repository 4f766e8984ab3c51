"""The errors of reports: one that cannot be loaded, and one that cannot be written."""

from __future__ import annotations


class ReportError(Exception):
    """`place` in the report (`findings[3].outcome`, empty for the whole) and what is wrong."""

    def __init__(self, place: str, message: str) -> None:
        super().__init__(f"{place}: {message}" if place else message)
        self.place = place
        self.message = message


class StoreError(Exception):
    """`path` that could not be written, and why, in one line."""

    def __init__(self, path: str, message: str) -> None:
        super().__init__(f"cannot write {path}: {message}")
        self.path = path
        self.message = message


class DocumentError(Exception):
    """A PDF that cannot be made, or is none of ours, in words that follow its name."""


class CertificateError(Exception):
    """A certificate that cannot sign a document, in words that follow its name."""
