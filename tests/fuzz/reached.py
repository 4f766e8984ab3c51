"""Which seeds are worth keeping: those that take a step through the code that no other takes."""

import sys
from collections.abc import Callable, Iterable, Iterator
from types import CodeType, FrameType
from typing import Any

from closeout import __file__ as top_file
from fuzz.targets import REFUSALS

Step = tuple[CodeType, int, int]
"""Within a function, from one line to another."""

TOP = top_file.removesuffix("__init__.py")


def steps_of(run: Callable[[bytes], object], raw: bytes) -> frozenset[Step]:
    """The steps that are taken in the product."""
    taken: set[Step] = set()
    here: dict[FrameType, int] = {}

    def trace(frame: FrameType, event: str, _: object) -> Any:  # noqa: ANN401 - as the tracer is
        if not frame.f_code.co_filename.startswith(TOP):
            return None
        if event == "line":
            taken.add((frame.f_code, here.get(frame, 0), frame.f_lineno))
            here[frame] = frame.f_lineno
        elif event == "return":
            here.pop(frame, None)
        return trace

    before = sys.gettrace()
    sys.settrace(trace)
    try:
        run(raw)
    except REFUSALS:
        pass
    finally:
        sys.settrace(before)
    return frozenset(taken)


def worth_keeping(
    run: Callable[[bytes], object], seeds: Iterable[bytes], given: Iterable[bytes]
) -> Iterator[bytes]:
    """The shortest that reach what neither `given` nor a shorter one does."""
    known: set[Step] = set()
    for raw in given:
        known |= steps_of(run, raw)
    for raw in sorted(set(seeds), key=lambda seed: (len(seed), seed)):
        new = steps_of(run, raw) - known
        if new:
            known |= new
            yield raw
