"""What a scanner that works as a keyboard typed, to the text that the bar code holds.

Such a scanner types as on a US keyboard unless it is set up otherwise. On a system that has another
layout the same keys are other characters; SHOWN_BY_LAYOUT undoes that, key by key.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Mapping
from string import ascii_lowercase, ascii_uppercase
from typing import Final

from closeout.model.frozen import frozen

MARK: Final = re.compile(r"\][A-Za-z][0-9A-Za-z]")
"""The symbology identifier that a scanner may send before the code (ISO/IEC 15424): `]C0`."""

ESCAPE: Final = re.compile(r"\x1b\[[0-9;]*[A-Za-z~]")
"""A key that is no character: an arrow, say (ECMA-48)."""

US_KEYS: Final = "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789-_./: ]"
"""What order numbers, labels and the symbology identifier are made of."""

SHOWN_BY_LAYOUT: Final[Mapping[str, str]] = {
    "German": "ABCDEFGHIJKLMNOPQRSTUVWXZYabcdefghijklmnopqrstuvwxzy0123456789ß?.-Ö +",
    "Swiss": "ABCDEFGHIJKLMNOPQRSTUVWXZYabcdefghijklmnopqrstuvwxzy0123456789'?.-é ¨",
    "French": "QBCDEFGHIJKL?NOPARSTUVZXYWqbcdefghijkl,noparstuvzxywà&é\"'(-è_ç)°:!M $",
    "Spanish": "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789'?.-Ñ +",
    "Italian": "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789'?.-ç +",
    "Swedish": "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+?.-Ö ¨",
}
"""What each layout makes of the keys of US_KEYS, in their order (xkeyboard-config's basic ones)."""

DEAD: Final = "¨"
DEAD_ON_CONSOLE: Final = '"'
"""A dead key before a letter that takes no dots: the text console shows it as the second."""

UPPER: Final = str.maketrans(ascii_lowercase, ascii_uppercase)
LOWER: Final = str.maketrans(ascii_uppercase, ascii_lowercase)

Agrees = Callable[[str], bool]


@frozen
class Settled:
    """The text that agrees; `layout` is the one that was undone, empty where none was."""

    text: str
    layout: str = ""


@frozen
class Ambiguous:
    """Several texts that agree, each of which the scanner may have read."""

    texts: tuple[str, ...]


def tidy(typed: str) -> str:
    """The text without blanks around it, control characters and symbology identifier."""
    text = "".join(filter(str.isprintable, ESCAPE.sub("", typed))).strip()
    while MARK.match(text):
        text = MARK.sub("", text, count=1).strip()
    return text


def type_on(layout: str, text: str) -> str:
    """What a system with this layout shows when the text is typed as on a US keyboard.

    Raises KeyError for a character that is not among US_KEYS.
    """
    shown = dict(zip(US_KEYS, SHOWN_BY_LAYOUT[layout], strict=True))
    return "".join(shown[character] for character in text)


def undo(layout: str, typed: str) -> str | None:
    """The text that was typed as on a US keyboard; None where no key of the layout gives it."""
    keys = dict(zip(SHOWN_BY_LAYOUT[layout], US_KEYS, strict=True))
    if DEAD in keys:
        keys[DEAD_ON_CONSOLE] = keys[DEAD]
    text = [keys.get(character) for character in typed]
    return None if None in text else "".join(filter(None, text))


def settle(typed: str, agrees: Agrees) -> Settled | Ambiguous | None:
    """The reading of what was typed that agrees: as it stands, else in the other case, else undone.

    `agrees` says whether a text is one that can be meant. None where no reading is.
    """
    text = tidy(typed)
    if plain := _readings(text, agrees):
        return _one(dict.fromkeys(plain, ""))
    undone = [
        (reading, layout)
        for layout in SHOWN_BY_LAYOUT
        for reading in _readings(_undone(layout, typed), agrees)
    ]
    return _one(dict(reversed(undone)))


def read_as(layout: str, typed: str) -> str:
    """The text of a code whose scanner types on this layout; as it stands where that is empty."""
    return (_undone(layout, typed) if layout else "") or tidy(typed)


def _undone(layout: str, typed: str) -> str:
    return tidy(undo(layout, tidy(typed)) or "")


def _readings(text: str, agrees: Agrees) -> tuple[str, ...]:
    """The text itself where it agrees, else the other cases of it that do."""
    if not text or agrees(text):
        return (text,) if text else ()
    return tuple(dict.fromkeys(filter(agrees, _other_cases(text))))


def _other_cases(text: str) -> Iterator[str]:
    """Of the letters of ASCII alone: the capital of `ß`, a hyphen's key elsewhere, is two."""
    yield text.translate(UPPER | LOWER)
    yield text.translate(UPPER)
    yield text.translate(LOWER)


def _one(readings: Mapping[str, str]) -> Settled | Ambiguous | None:
    if len(readings) > 1:
        return Ambiguous(texts=tuple(sorted(readings)))
    for text, layout in readings.items():
        return Settled(text=text, layout=layout)
    return None
