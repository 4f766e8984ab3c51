"""Numbers that the kernel gives in the order in which drivers are ready, put in a lasting order.

`hwmonN`, `iio:deviceN`, `cooling_deviceN` and `inputN` of one notebook differ from start to start,
and with them `eventN` and the numbers of device nodes. The device that a link leads to does not,
so it decides which number each gets when two recordings are compared.
"""

import re
from collections.abc import Iterable, Mapping
from typing import Final

from closeout.kernel.record import Answer, Kind, Question, Record

LINK: Final = re.compile(
    r"sys/(?:class/hwmon|bus/iio/devices|class/input)/(?P<name>(?:hwmon|iio:device|input)\d+)"
    r"|sys/devices/virtual/thermal/(?P<cooler>cooling_device\d+)/device"
)
NUMBERED: Final = re.compile(r"\b(hwmon|iio:device|input|cooling_device)\d+\b")
OF_AN_INPUT: Final = re.compile(r"\b(event|mouse)\d+\b")
"""Its device nodes: which input has them, the folder says."""
NODE: Final = re.compile(r".*/(input\d+)/event\d+/dev")
NODES_NUMBER: Final = re.compile(r"\bc13:\d+\b")
"""As udev names what it knows of an input's node."""


def lasting_numbers(records: Iterable[Record]) -> dict[str, str]:
    """Each numbered name with the one that it gets by the place of its device."""
    told = tuple(records)
    numbers = _by_place(told)
    for record in told:
        if (found := NODE.fullmatch(record.question.text)) and isinstance(record.answer, bytes):
            numbers[f"c{record.answer.decode().strip()}"] = f"c13:{numbers.get(found[1], '~')}"
    return numbers


def _by_place(records: Iterable[Record]) -> dict[str, str]:
    places = {
        found["name"] or found["cooler"]: record.answer
        for record in records
        if record.question.kind is Kind.TARGET
        and (found := LINK.fullmatch(record.question.text))
        and isinstance(record.answer, str)
    }
    in_order = sorted(places, key=lambda name: (NUMBERED.sub(r"\1", places[name]), _number(name)))
    sorts = (NUMBERED.sub(r"\1", name) for name in in_order)
    return {
        name: f"{sort}~{rank}"
        for rank, (name, sort) in enumerate(zip(in_order, sorts, strict=True))
    }


def _number(name: str) -> int:
    """Among devices of one place, the order in which their driver makes them."""
    return int(re.sub(r"\D", "", name))


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
    known = NUMBERED.sub(lambda found: numbers.get(found[0], found[0]), text)
    nodes = NODES_NUMBER.sub(lambda found: numbers.get(found[0], found[0]), known)
    return OF_AN_INPUT.sub(r"\1~", nodes)
