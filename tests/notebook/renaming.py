"""Captured evidence of a virtual notebook, with every name of the emulator replaced by an invented.

`rename_evidence` makes the units of the demo. `rename_back` makes of what is shipped (a profile, a
work order) what fits the guest: `eDP-1` is its `Virtual-1` again. Which names, and why, says
`profiles/demo/renaming.toml`.
"""

import re
from collections.abc import Iterator, Mapping
from dataclasses import replace
from functools import lru_cache
from typing import Final

from closeout.expect.shipped import shipped_folder
from closeout.kernel.evidence import Evidence, Header
from closeout.kernel.record import Answer, Failure, Kind, Question, Record
from notebook.renaming_list import Field, RenamingList, load_list
from notebook.words import Words

LIST: Final = "renaming.toml"
MARK: Final = "renamed"
PAIRS: Final = {"vendor": "device", "subsystem_vendor": "subsystem_device"}
"""Files of a PCI function that hold one half each of what the list has whole: `1b36:0010`."""
HALF: Final = re.compile(rb"0x([0-9a-f]{4})\n")

Answers = Mapping[Question, Answer]


class RenamingError(ValueError):
    """Evidence that the list does not fit; the text names the question."""


@lru_cache
def shipped_list() -> RenamingList:
    """The list beside the demo's units."""
    return load_list(shipped_folder("profiles") / "demo" / LIST)


def rename_text(text: str, unit: str | None = None) -> str:
    """A captured text as it ships, by what holds everywhere or by that of a unit too."""
    return shipped_list().forwards(unit).replaced(text)


def rename_back(text: str, unit: str | None = None) -> str:
    """A shipped text as it fits the guest."""
    return shipped_list().backwards(unit).replaced(text)


def rename_evidence(evidence: Evidence, unit: str, listed: RenamingList | None = None) -> Evidence:
    """The evidence as it ships for a unit of the demo: canonical, and never renamed twice.

    Raises:
        RenamingError: a field is not there, or a table that cannot be renamed holds a name.
    """
    renaming = listed or shipped_list()
    words = renaming.forwards(unit)
    answers = {record.question: record.answer for record in evidence.records}
    answers |= dict(_rename_ids(answers, words))
    durations = {record.question: record.microseconds for record in evidence.records}
    renamed = {
        _rename_question(question, words): Record(
            question=_rename_question(question, words),
            answer=_rename_answer(question, answer, words),
            microseconds=durations[question],
        )
        for question, answer in answers.items()
    }
    for field in renaming.units[unit].fields:
        renamed[field.question] = _fill_in(field, renamed.get(field.question))
    records = tuple(renamed[question] for question in sorted(renamed))
    return Evidence(header=_rename_header(evidence.header, words), records=records)


def _rename_header(header: Header, words: Words) -> Header:
    """It says from then on that the names are not those that were captured."""
    more = {**header.more, MARK: f"by profiles/demo/{LIST}"}
    return replace(header, kernel=words.replaced(header.kernel), more=more)


def _rename_question(question: Question, words: Words) -> Question:
    return question._replace(text=words.replaced(question.text))


def _rename_ids(answers: Answers, words: Words) -> Iterator[tuple[Question, Answer]]:
    """Both halves of every PCI id that the list has."""
    for question in answers:
        folder, _, name = question.text.rpartition("/")
        if question.kind is not Kind.READ or name not in PAIRS:
            continue
        other = Question(kind=Kind.READ, text=f"{folder}/{PAIRS[name]}")
        vendor, device = _half(answers[question]), _half(answers.get(other))
        if vendor and device:
            renamed = words.replaced(f"{vendor}:{device}").split(":")
            for half, text in zip((question, other), renamed, strict=True):
                yield half, f"0x{text}\n".encode()


def _half(answer: Answer | None) -> str | None:
    found = HALF.fullmatch(answer) if isinstance(answer, bytes) else None
    return found[1].decode() if found else None


def _rename_answer(question: Question, answer: Answer, words: Words) -> Answer:
    match answer:
        case bytes():
            return _rename_content(question, answer, words)
        case tuple():
            return tuple(sorted(words.replaced(name) for name in answer))
        case str():
            return words.replaced(answer)
        case Failure():
            return answer


def _rename_content(question: Question, content: bytes, words: Words) -> bytes:
    """Text renamed; a table with sums and offsets cannot be, so it must hold no name."""
    try:
        return words.replaced(content.decode("utf-8")).encode("utf-8")
    except UnicodeDecodeError:
        if found := words.first_in(content.decode("latin-1")):
            raise RenamingError(f"{question.text}: a table that holds {found!r}") from None
        return content


def _fill_in(field: Field, record: Record | None) -> Record:
    """The record with the field's text; the answer must have the field."""
    answer = record.answer if record else None
    if record is None or not isinstance(answer, bytes):
        raise RenamingError(f"{field.question.text}: no such answer to fill in")
    filled, count = field.pattern.subn(lambda _: field.text, answer.decode("utf-8"))
    if not count:
        raise RenamingError(f"{field.question.text}: nothing in it matches {field.pattern.pattern}")
    return replace(record, answer=filled.encode("utf-8"))
