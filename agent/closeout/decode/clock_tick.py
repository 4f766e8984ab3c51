"""The answer to the question "clock tick rtc0": what a clock showed, when, and whether it moved.

It is JSON of our own: `{"shown": 1795165840, "microseconds": 23120000, "ticked": true}`. `shown`
is the clock's `since_epoch` right after its second changed (or at the end of the wait, where it
did not), `microseconds` the running kernel's count since its start at that moment.
"""

from __future__ import annotations

import json
from typing import Final, cast

from closeout.decode.failure import DecodeError
from closeout.model.frozen import frozen
from closeout.model.late_pattern import late_pattern

QUESTION: Final = late_pattern(r"clock tick (rtc[0-9]{1,5})")
LARGEST: Final = 1 << 62


@frozen
class ClockTick:
    """What the clock showed at which moment of the kernel's count, and whether it had moved."""

    shown: int
    microseconds: int
    ticked: bool


def tick_question(name: str) -> str:
    """The question about the clock of this name."""
    return f"clock tick {name}"


def parse_tick_question(question: str) -> str | None:
    """The name of the clock that a question is about; None for any other question."""
    found = QUESTION.fullmatch(question)
    return found[1] if found else None


def encode_tick(tick: ClockTick) -> bytes:
    """The answer."""
    answer = {"shown": tick.shown, "microseconds": tick.microseconds, "ticked": tick.ticked}
    return json.dumps(answer).encode("ascii")


def decode_tick(raw: bytes) -> ClockTick:
    """What the answer tells; raises DecodeError where it is none."""
    try:
        found: object = json.loads(raw)
    except (ValueError, RecursionError):
        raise DecodeError("clock tick", 0, "JSON was expected") from None
    if not isinstance(found, dict):
        raise DecodeError("clock tick", 0, "an object was expected")
    members = cast("dict[str, object]", found)
    ticked = members.get("ticked")
    if not isinstance(ticked, bool):
        raise DecodeError("clock tick", 0, "true or false was expected for ticked")
    return ClockTick(
        shown=_whole(members, "shown"), microseconds=_whole(members, "microseconds"), ticked=ticked
    )


def _whole(members: dict[str, object], key: str) -> int:
    found = members.get(key)
    if isinstance(found, bool) or not isinstance(found, int) or not 0 <= found <= LARGEST:
        raise DecodeError("clock tick", 0, f"a whole number was expected for {key}")
    return found
