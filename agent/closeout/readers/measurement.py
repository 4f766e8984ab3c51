"""Readings of numbers that measure something: what stands for no sensor is absent, not a number.

Kernel paths: those of the readers that ask. The table is `closeout.decode.sensor_dummies`.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator

from closeout.decode.sensor_doubts import doubt_limit, doubt_temperature, explain_absence
from closeout.decode.sensor_dummies import Quantity
from closeout.kernel.tree import KernelTree
from closeout.model.reading import Absent, Reading, Unreadable, Value
from closeout.readers.attributes import read_flag, read_integer


def leave_out_dummies(reading: Reading[int], quantity: Quantity) -> Reading[int]:
    """The number; absent with the reason where it stands for no sensor."""
    if not isinstance(reading, Value):
        return reading
    reason = explain_absence(quantity, reading.value)
    if reason is None:
        return reading
    return Absent(reason=f"{reading.value} is read: {reason}", sources=reading.sources)


def read_measurement(tree: KernelTree, path: str, quantity: Quantity) -> Reading[int]:
    """The number in a file, as above."""
    return leave_out_dummies(read_integer(tree, path), quantity)


def read_limit(tree: KernelTree, path: str, quantity: Quantity) -> Reading[int]:
    """A limit; one at the end of its scale, or of zero, is none."""
    limit = read_integer(tree, path)
    if not isinstance(limit, Value):
        return limit
    if limit.value == 0 or explain_absence(quantity, limit.value) is not None:
        return Absent(reason=f"{limit.value} is read: no limit is set", sources=limit.sources)
    return limit


def read_any_flag(tree: KernelTree, paths: Iterable[str], nobody: str) -> Reading[bool]:
    """True where one of the flags is; absent as `nobody` where the driver has none of them."""
    flags = [read_flag(tree, path) for path in paths]
    sources = tuple(source for flag in flags for source in flag.sources)
    told = [flag.value for flag in flags if isinstance(flag, Value)]
    if any(told):
        return Value(value=True, sources=sources)
    for flag in flags:
        if isinstance(flag, Unreadable):
            return flag
    return Value(value=False, sources=sources) if told else Absent(reason=nobody, sources=sources)


def collect_doubts(
    reading: Reading[int], doubt: Callable[[int], Iterable[str]]
) -> Reading[tuple[str, ...]]:
    """The doubts about a number; a reading without one passes through."""
    if not isinstance(reading, Value):
        return reading
    return Value(value=tuple(doubt(reading.value)), sources=reading.sources)


def doubt_heat(
    now: Reading[int], critical: Reading[int], quantity: Quantity
) -> Reading[tuple[str, ...]]:
    """The doubts about a temperature, beside its own critical limit where it has one."""

    def doubt(millicelsius: int) -> Iterator[str]:
        yield from doubt_temperature(quantity, millicelsius)
        if isinstance(critical, Value):
            yield from doubt_limit(millicelsius, critical.value)

    return collect_doubts(now, doubt)
