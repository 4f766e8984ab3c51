"""Numbers that the kernel gives in the order in which drivers are ready, put in a lasting order.

`hwmonN` and `iio:deviceN` of one notebook differ from start to start. The device that a class
link leads to does not, so it decides which number each gets when two recordings are compared.
"""

import re
from collections.abc import Iterable, Mapping
from typing import Final

from closeout.kernel.record import Answer, Kind, Question, Record

CLASS_LINK: Final = re.compile(r"sys/(?:class/hwmon|bus/iio/devices)/(hwmon\d+|iio:device\d+)")
NUMBERED: Final = re.compile(r"\b(hwmon|iio:device)\d+\b")


def lasting_numbers(records: Iterable[Record]) -> dict[str, str]:
    """Each numbered name with the one that it gets by the place of its device."""
    places = {
        found[1]: record.answer
        for record in records
        if record.question.kind is Kind.TARGET
        and (found := CLASS_LINK.fullmatch(record.question.text))
        and isinstance(record.answer, str)
    }
    in_order = sorted(places, key=lambda name: (NUMBERED.sub(r"\1", places[name]), name))
    sorts = (NUMBERED.sub(r"\1", name) for name in in_order)
    return {
        name: f"{sort}~{rank}"
        for rank, (name, sort) in enumerate(zip(in_order, sorts, strict=True))
    }


def renumber_question(question: Question, numbers: Mapping[str, str]) -> Question:
    """The question with lasting numbers."""
    return Question(kind=question.kind, text=_renumbered(question.text, numbers))


def renumber_answer(answer: Answer, numbers: Mapping[str, str]) -> Answer:
    """A link or a listing with lasting numbers; content stays as it is."""
    match answer:
        case str():
            return _renumbered(answer, numbers)
        case tuple():
            return tuple(sorted(_renumbered(name, numbers) for name in answer))
        case _:
            return answer


def _renumbered(text: str, numbers: Mapping[str, str]) -> str:
    return NUMBERED.sub(lambda found: numbers.get(found[0], found[0]), text)
