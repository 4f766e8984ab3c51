"""A healthy unit as the kernel shows it, and the ways to change what it shows.

A change is a pure function from unit to unit. One that finds nothing to change raises
`NotShownError`, so a variation cannot silently be no variation.
"""

import errno
import re
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, replace
from typing import Final, TypeAlias

from closeout.kernel.evidence import Evidence, Header
from closeout.kernel.record import Answer, Failure, Kind, Question, Record

NOT_THERE: Final = Failure(number=errno.ENOENT)
MOST_LINKS: Final = 40


class NotShownError(Exception):
    """The unit does not show what was to be changed."""


@dataclass(frozen=True, slots=True, kw_only=True)
class ShownUnit:
    """The header, every question with its answer, and the order's text (empty: no order)."""

    header: Header
    answers: Mapping[Question, Answer]
    order: str = ""


Change: TypeAlias = Callable[[ShownUnit], ShownUnit]


def shown_in(evidence: Evidence, order: str = "") -> ShownUnit:
    """The unit that evidence shows."""
    answers = {record.question: record.answer for record in evidence.records}
    return ShownUnit(header=evidence.header, answers=answers, order=order)


def evidence_of(unit: ShownUnit) -> Evidence:
    """The unit as evidence again."""
    records = (
        Record(question=question, answer=answer, microseconds=1)
        for question, answer in sorted(unit.answers.items())
    )
    return Evidence(header=unit.header, records=tuple(records))


def follow(answers: Mapping[Question, Answer], path: str) -> str:
    """The path without links on its way, as far as they were read."""
    for _ in range(MOST_LINKS):
        parts = path.split("/")
        for count in range(1, len(parts) + 1):
            aim = answers.get(Question(Kind.TARGET, "/".join(parts[:count])))
            if isinstance(aim, str):
                path = "/".join([aim, *parts[count:]])
                break
        else:
            break
    return path


def answer_for(answers: Mapping[Question, Answer], question: Question) -> Answer:
    """What was recorded, else what stands behind the links; a path nobody drew is not there."""
    if question in answers:
        return answers[question]
    if question.kind is Kind.ASK:
        return Failure(number=errno.EOPNOTSUPP)
    folder, slash, name = question.text.rpartition("/")
    real = Question(question.kind, f"{follow(answers, folder)}{slash}{name}")
    if question.kind is not Kind.TARGET and real not in answers:
        real = Question(question.kind, follow(answers, question.text))
    return answers.get(real, NOT_THERE)


def together(*changes: Change) -> Change:
    """One change after the other."""

    def change(unit: ShownUnit) -> ShownUnit:
        for one in changes:
            unit = one(unit)
        return unit

    return change


def answers(kind: Kind, text: str, answer: Answer) -> Change:
    """Another answer to a question that was asked."""

    def change(unit: ShownUnit) -> ShownUnit:
        asked = [Question(kind, text), Question(kind, follow(unit.answers, text))]
        found = [question for question in asked if question in unit.answers]
        if not found:
            raise NotShownError(text)
        return with_answers(unit, dict.fromkeys(found, answer))

    return change


def says(path: str, text: str) -> Change:
    """Another line in a file, which may be reached through a link."""
    return answers(Kind.READ, path, f"{text}\n".encode())


def edits(kind: Kind, text: str, old: bytes, new: bytes) -> Change:
    """Another part in what is read."""

    def change(unit: ShownUnit) -> ShownUnit:
        answer = unit.answers.get(Question(kind, text))
        if not isinstance(answer, bytes) or old not in answer:
            raise NotShownError(text)
        return with_answers(unit, {Question(kind, text): answer.replace(old, new)})

    return change


def renames(pattern: str, new: str | Callable[[re.Match[str]], str], within: str = "") -> Change:
    """A kernel's name, changed in every path, listing, link and text that has it.

    With `within`, only in questions and links that hold this text too.
    """
    wanted = re.compile(pattern)

    def put(text: str) -> str:
        return wanted.sub(new, text)

    def change(unit: ShownUnit) -> ShownUnit:
        changed = {
            Question(question.kind, put(question.text)): _put_answer(answer, put)
            if _is_within(question, answer, within)
            else answer
            for question, answer in _placed(unit, within)
        }
        kept = {
            question: answer
            for question, answer in unit.answers.items()
            if not _is_within(question, answer, within)
        }
        if changed == {q: a for q, a in unit.answers.items() if _is_within(q, a, within)}:
            raise NotShownError(pattern)
        return replace(unit, answers={**kept, **changed})

    return change


def _placed(unit: ShownUnit, within: str) -> Iterator[tuple[Question, Answer]]:
    return ((q, a) for q, a in unit.answers.items() if _is_within(q, a, within))


def _is_within(question: Question, answer: Answer, within: str) -> bool:
    return within in question.text or (isinstance(answer, str) and within in answer)


def _put_answer(answer: Answer, put: Callable[[str], str]) -> Answer:
    match answer:
        case bytes():
            return put(answer.decode("latin-1")).encode("latin-1")
        case tuple():
            return tuple(sorted(map(put, answer)))
        case str():
            return put(answer)
        case Failure():
            return answer


def swaps(pattern: str, one: str, other: str, within: str = "") -> Change:
    """Two numbers of the same sort change places; `pattern` finds them in its first group."""
    exchanged = {one: other, other: one}

    def put(found: re.Match[str]) -> str:
        number = exchanged.get(found[1], found[1])
        return found[0].replace(found[1], number)

    return renames(pattern, put, within)


def draws(
    files: Mapping[str, str | bytes],
    links: Mapping[str, str] | None = None,
    folders: Mapping[str, tuple[str, ...]] | None = None,
) -> Change:
    """Files and links that were not there, each shown by the folders on its way."""
    links = links or {}

    def change(unit: ShownUnit) -> ShownUnit:
        added: dict[Question, Answer] = {}
        listed = dict(folders or {})
        for path, content in files.items():
            raw = content if isinstance(content, bytes) else f"{content}\n".encode()
            added[Question(Kind.READ, path)] = raw
        for path, aim in links.items():
            added[Question(Kind.TARGET, path)] = aim
        for path in (*files, *links):
            parts = path.split("/")
            for count in range(1, len(parts)):
                folder = "/".join(parts[:count])
                before = listed.get(folder) or unit.answers.get(Question(Kind.NAMES, folder))
                names = before if isinstance(before, tuple) else ()
                listed[folder] = tuple(sorted({*names, parts[count]}))
        added |= {Question(Kind.NAMES, folder): names for folder, names in listed.items()}
        return with_answers(unit, added)

    return change


def with_answers(unit: ShownUnit, changed: Mapping[Question, Answer]) -> ShownUnit:
    """The unit with these answers in the place of others."""
    return replace(unit, answers={**unit.answers, **changed})


def lists_without(folder: str, name: str) -> Change:
    """A name that a folder shows no more."""

    def change(unit: ShownUnit) -> ShownUnit:
        names = unit.answers.get(Question(Kind.NAMES, folder))
        if not isinstance(names, tuple) or name not in names:
            raise NotShownError(f"{folder}/{name}")
        left = tuple(one for one in names if one != name)
        return with_answers(unit, {Question(Kind.NAMES, folder): left})

    return change
