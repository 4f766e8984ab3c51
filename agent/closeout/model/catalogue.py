"""What each rule means to people: one entry by rule id."""

from __future__ import annotations

from collections.abc import Mapping

from closeout.model.frozen import frozen


@frozen
class Entry:
    """`title` names the matter in a few words; `advice` says what to reseat or program.

    `question` is put to a person where `answerable`; `caution` is empty where nothing can hurt.
    """

    title: str
    meaning: str
    impact: str
    advice: str
    caution: str
    question: str
    answerable: bool


@frozen
class Catalogue:
    """All entries, and the version of the rules they belong to."""

    version: str
    entries: Mapping[str, Entry]
