"""Repairs that were typed by their names."""

from __future__ import annotations

from collections.abc import Iterable

from closeout.cli.trouble import InputTroubleError
from closeout.expect.mistake import list_words, nearest, quote
from closeout.expect.vocabulary import REPAIRS


def read_repairs(named: Iterable[str], place: str) -> tuple[str, ...]:
    """The repairs, each once, in the order given; `place` is where they were typed.

    Raises InputTroubleError for an unknown one.
    """
    names = tuple(dict.fromkeys(named))
    for name in names:
        if name not in REPAIRS:
            near, allowed = nearest(name, REPAIRS), list_words(REPAIRS)
            raise InputTroubleError(
                f"{place}: {quote(name)} is no repair{near}; allowed: {allowed}"
            )
    return names
