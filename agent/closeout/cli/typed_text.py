"""What a person typed to stand in a report: one line, not too long, and no licence key."""

from __future__ import annotations

from typing import Final

from closeout.cli.trouble import InputTroubleError
from closeout.kernel.secrecy import mask_text

LONGEST_CODE: Final = 40
LONGEST_REASON: Final = 300
KEY_FOUND: Final = "a text in the form of a licence key, which no report may hold; leave it out"


def read_code(text: str, name: str) -> str:
    """Who says it; `name` is where it was typed. Raises InputTroubleError."""
    return _read(text, name, LONGEST_CODE)


def read_reason(text: str, name: str) -> str:
    """Why. Raises InputTroubleError."""
    return _read(text, name, LONGEST_REASON)


def wrong_with(text: str, longest: int) -> str:
    """What is wrong with a typed text; empty where it can stand in a report."""
    if not text.strip():
        return "nothing is typed; say it in a few words"
    if len(text) > longest:
        return f"longer than {longest} characters; say it shorter"
    if not text.isprintable():
        return "one line without control characters is wanted"
    if mask_text(text) != text:
        return KEY_FOUND
    return ""


def _read(text: str, name: str, longest: int) -> str:
    if wrong := wrong_with(text, longest):
        raise InputTroubleError(f"{name}: {wrong}")
    return text.strip()
