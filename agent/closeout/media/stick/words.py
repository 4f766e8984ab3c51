"""What the first program says by itself, before and around the session."""

from __future__ import annotations

from typing import Final

from closeout.report.screen import wrap

NARROWEST: Final = 20
FIRST_SCREEN: Final = (
    "closeout: check of a notebook after its repair.",
    "The unit's own disk will not be opened for writing.",
    'Everything runs from memory: when it says "ready", the stick may be pulled.',
    "",
)
READY: Final = "ready: the stick may be pulled"
READY_WITHOUT: Final = (
    "ready: no stick was asked for; put one in that is labelled CLOSEOUT to keep the reports"
)
TAKEN: Final = "{}: taken from the stick in place of what is built in, files: {}"
ENDED: Final = "The session has ended ({}) and is started again; reports are still in memory."
WENT_WRONG: Final = "The first program goes on after an error of its own: {}."
OFF_BY_HAND: Final = "It cannot be switched off from here: hold its power key."
SWITCHING_OFF: Final = "Switching off."


def on_lines(text: str, width: int) -> bytes:
    """The text as a console takes it, no line wider than its columns."""
    lines = wrap(text, max(NARROWEST, width)) if text else [""]
    return "".join(f"{line.rstrip()}\r\n" for line in lines).encode("utf-8", "replace")
