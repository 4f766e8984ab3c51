"""What psutil tells otherwise than our own readings of temperatures and fans.

Kernel path of both: `sys/class/hwmon/hwmonN`; psutil takes thermal zones only where no chip is
(psutil, `sensors_temperatures`), and every copy of a zone or a pack that we leave out.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import TYPE_CHECKING, Final

from closeout.decode.fixed_point import MILLI
from closeout.decode.second_opinions import decode_sensors
from closeout.kernel.question_names import FANS, TEMPERATURES
from closeout.kernel.tree import KernelTree
from closeout.model.reading import Absent, Reading, Unreadable, Value
from closeout.readers.fan import find_fans, read_fan
from closeout.readers.second_opinions_heard import AGREED, Comparison, hear
from closeout.readers.temperature import find_temperatures, read_temperature

if TYPE_CHECKING:
    from fractions import Fraction

MOST_DEGREES_APART: Final = 15_000
"""Thousandths of a degree that a part may warm up or cool down by between two readings; a
processor does so within a second (common practice)."""

MOST_SPEED_APART: Final = 500
"""rpm between two readings of a fan that speeds up or slows down (common practice)."""

Shown = tuple[str, Reading[str], Reading[int]]
"""Label, chip, and what it shows."""


def ask_psutil_of_sensors(tree: KernelTree) -> Iterator[Comparison]:
    """Each temperature and each fan of a chip that both know."""
    temperatures = find_temperatures(tree)
    if not isinstance(temperatures, Value):
        yield temperatures
    else:
        heat = [read_temperature(tree, place) for place in temperatures.value]
        shown = [(one.label, one.chip, one.now_millicelsius) for one in heat]
        yield from _compare(tree, TEMPERATURES, shown, (MILLI, MOST_DEGREES_APART))
    fans = find_fans(tree)
    if not isinstance(fans, Value):
        yield fans
    else:
        turning = [read_fan(tree, place) for place in fans.value]
        shown = [(one.label, one.chip, one.speed_rpm) for one in turning]
        yield from _compare(tree, FANS, shown, (1, MOST_SPEED_APART))


def _compare(
    tree: KernelTree, question: str, shown: list[Shown], measure: tuple[int, int]
) -> Iterator[Comparison]:
    theirs = hear(tree, question, decode_sensors)
    if not isinstance(theirs, Value):
        yield theirs
        return
    for one in shown:
        yield _compare_one(question, one, theirs.value, measure)


def _compare_one(
    question: str,
    shown: Shown,
    theirs: Mapping[str, tuple[Fraction, ...]],
    measure: tuple[int, int],
) -> Comparison:
    label, chip, ours = shown
    parts, most_apart = measure
    sources = (question, *ours.sources)
    if isinstance(ours, Unreadable):
        return ours
    if not isinstance(chip, Value) or not isinstance(ours, Value) or chip.value not in theirs:
        return Absent(reason="only one of the two tells it", sources=sources)
    numbers = [round(current * parts) for current in theirs[chip.value]]
    if any(abs(number - ours.value) <= most_apart for number in numbers):
        return Value(value=AGREED, sources=sources)
    told = ", ".join(map(str, numbers)) or "none"
    return Value(value=(f"{label}: ours {ours.value}, psutil {told}",), sources=sources)
