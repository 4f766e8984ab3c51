"""What an input device says that it can do: sets of numbers out of its bitmaps and its modalias.

Kernel files `capabilities/*` and `properties` (drivers/input/input.c, input_print_bitmap): words
in hexadecimal, the most significant first, without leading zeros; a word has as many bits as a
`long` of the kernel. `modalias` (input_print_modalias) lists the same numbers one by one, keys
only from 71h on, and may be cut short: what it lists tells how long the words are.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final

from closeout.decode.failure import DecodeError
from closeout.model.late_pattern import late_pattern

WHAT: Final = "bitmap"
MOST_WORDS: Final = 64
WORD: Final = late_pattern(r"[0-9a-fA-F]{1,16}")
WORD_SIZES: Final = (64, 32)
LIST: Final = late_pattern(r"([ekramlsfw])((?:[0-9A-F]{1,4},)*)")


def decode_bits(text: str, word_bits: int) -> frozenset[int]:
    """The numbers that are set, with words of so many bits.

    Raises:
        DecodeError: no words, too many, or one that is no hexadecimal number of such a word.
    """
    words = text.split()
    if not 0 < len(words) <= MOST_WORDS:
        raise DecodeError(WHAT, 0, f"1 to {MOST_WORDS} words were expected, {len(words)} found")
    numbers: set[int] = set()
    for place, word in enumerate(reversed(words)):
        if not WORD.fullmatch(word) or int(word, 16) >> word_bits:
            wanted = f"a hexadecimal word of {word_bits} bits was expected"
            raise DecodeError(WHAT, text.index(word), wanted)
        numbers.update(_set_bits(int(word, 16), place * word_bits))
    return frozenset(numbers)


def _set_bits(word: int, first: int) -> set[int]:
    return {first + bit for bit in range(word.bit_length()) if word >> bit & 1}


def decode_modalias(text: str) -> Mapping[str, frozenset[int]]:
    """The lists by letter: `e` events, `k` keys, `r` relative, `a` absolute, `w` switches.

    Total: what is no list of an input device's modalias lists nothing.
    """
    lists = text.partition("-")[2] if text.startswith("input:") else ""
    return {
        letter: frozenset(int(number, 16) for number in numbers.split(",") if number)
        for letter, numbers in LIST.findall(lists)
    }


def find_word_bits(bitmaps: Mapping[str, str], listed: Mapping[str, frozenset[int]]) -> int:
    """The word size with which the bitmaps hold all that is listed under the same letter.

    Where both sizes do, or none does, it is that of today's kernels.
    """
    for word_bits in WORD_SIZES:
        if all(_holds(bitmaps[letter], listed, letter, word_bits) for letter in bitmaps):
            return word_bits
    return WORD_SIZES[0]


def _holds(text: str, listed: Mapping[str, frozenset[int]], letter: str, word_bits: int) -> bool:
    try:
        return listed.get(letter, frozenset()) <= decode_bits(text, word_bits)
    except DecodeError:
        return False
