"""Whether a clock runs: its second is watched until it changes.

Kernel file `sys/class/rtc/rtcN/since_epoch` (Documentation/ABI/testing/sysfs-class-rtc), whose
resolution is one second. To wait for the chip's own interrupt by ioctl would need the device
open, which only one program can have, and on some units it never comes.
"""

from __future__ import annotations

import time
from collections.abc import Callable
from typing import Final

from closeout.decode.clock_tick import ClockTick, encode_tick, parse_tick_question
from closeout.decode.numerals import parse_whole
from closeout.decode.plain_text import decode_text
from closeout.kernel.record import Clock

LONGEST_WAIT: Final = 1_500_000_000
"""Nanoseconds: a second, and half of one for a chip that is slow to answer."""
PAUSE: Final = 0.02
"""Seconds between two looks: the moment of the change is known so well."""
MICROSECOND: Final = 1000


def is_tick_question(question: str) -> bool:
    """Whether a question asks for the tick of a clock."""
    return parse_tick_question(question) is not None


def watch_clock(
    read: Callable[[str], bytes],
    question: str,
    clock: Clock = time.monotonic_ns,
    sleep: Callable[[float], None] = time.sleep,
) -> bytes:
    """What the clock showed when its second changed, or that it did not change in time.

    A clock that does not tell a number is answered as standing at what it tells: 0 seconds.

    Raises:
        ReadError: of the first or a later look.
    """
    path = f"sys/class/rtc/{parse_tick_question(question)}/since_epoch"
    until = clock() + LONGEST_WAIT
    first = shown = _seconds(read(path))
    while shown == first and clock() < until:
        sleep(PAUSE)
        shown = _seconds(read(path))
    tick = ClockTick(shown=shown, microseconds=clock() // MICROSECOND, ticked=shown != first)
    return encode_tick(tick)


def _seconds(content: bytes) -> int:
    return max(0, parse_whole(decode_text(content)) or 0)
