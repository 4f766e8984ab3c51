"""Switches of an input device: which it has, which are set, and the question for the latter.

A bitmap is written as hexadecimal words, the most significant first, as in
`sys/class/input/inputN/capabilities/sw` (kernel input_print_bitmap in drivers/input/input.c); the
answer to `input switches eventN` has the same form. Codes: include/uapi/linux/input-event-codes.h.
"""

from __future__ import annotations

from typing import Final

from closeout.decode.failure import DecodeError
from closeout.model.late_pattern import late_pattern

QUESTION: Final = late_pattern(r"input switches (event\d{1,5})")
WORD: Final = late_pattern(r"[0-9a-f]{1,16}")
WORD_BITS: Final = 64
MOST_WORDS: Final = 16

HEADPHONE: Final = 2
MICROPHONE: Final = 4
LINE_OUT: Final = 6
PHYSICAL: Final = 7
VIDEO_OUT: Final = 8
CAMERA_COVER: Final = 9
LINE_IN: Final = 13
JACK_SWITCHES: Final = frozenset({HEADPHONE, MICROPHONE, LINE_OUT, PHYSICAL, LINE_IN})


def decode_switches(raw: bytes) -> frozenset[int]:
    """The codes of a bitmap; raises DecodeError for what is none."""
    words = raw.decode("ascii", "replace").split()
    if not 1 <= len(words) <= MOST_WORDS:
        raise DecodeError("input switches", 0, f"{len(words)} words, 1 to {MOST_WORDS} expected")
    bits = 0
    for word in words:
        if WORD.fullmatch(word) is None:
            raise DecodeError("input switches", 0, f"no hexadecimal word: {word!r:.40}")
        bits = bits << WORD_BITS | int(word, 16)
    return frozenset(code for code in range(bits.bit_length()) if bits >> code & 1)


def encode_switches(state: bytes) -> bytes:
    """The bitmap in words, of the bytes that the kernel gives, the lowest first."""
    bits = int.from_bytes(state, "little")
    words: list[str] = []
    while bits or not words:
        words.append(f"{bits & (1 << WORD_BITS) - 1:x}")
        bits >>= WORD_BITS
    return " ".join(reversed(words)).encode("ascii") + b"\n"


def switches_question(event: str) -> str:
    """The question for the switches that are set on `eventN`."""
    return f"input switches {event}"


def parse_switches_question(question: str) -> str | None:
    """Which `eventN` a question is about; None where it is another question."""
    found = QUESTION.fullmatch(question)
    return found[1] if found else None
