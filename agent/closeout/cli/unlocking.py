"""The station of a whole session at a terminal: its key is opened once, whoever sits there."""

from __future__ import annotations

import os
from pathlib import Path
from typing import TYPE_CHECKING, Final

from closeout.cli.dialogue import Dialogue
from closeout.cli.sealing import FOLDER, PASSPHRASE, LockedKeyError, open_station, read_passphrase
from closeout.cli.surroundings import Surroundings
from closeout.cli.trouble import InputTroubleError

if TYPE_CHECKING:
    from closeout.report.seal import Signer

TRIES: Final = 3
UNSEALED: Final = "Reports are not sealed."
LOCKED: Final = "The station's key has a pass phrase. With Enter alone reports are not sealed."
PROMPT: Final = "Pass phrase, which is not shown: "


def unlock_station(surroundings: Surroundings) -> Signer | None:
    """The station that the variables name, with the pass phrase that is typed where it wants one.

    A session goes on without: what keeps the key shut is said, and that nothing is sealed.
    """
    told = os.environ.get(FOLDER)
    if not told:
        return None
    dialogue = Dialogue(surroundings)
    named = os.environ.get(PASSPHRASE)
    try:
        return open_station(Path(told), read_passphrase(Path(named) if named else None))
    except LockedKeyError:
        return _ask(Path(told), dialogue)
    except InputTroubleError as trouble:
        dialogue.tell(f"{trouble}. {UNSEALED}")
        return None


def _ask(folder: Path, dialogue: Dialogue) -> Signer | None:
    dialogue.tell(LOCKED)
    for _ in range(TRIES):
        typed = dialogue.unseen_line(PROMPT)
        dialogue.tell("")
        if not typed:
            break
        try:
            return open_station(folder, typed.encode())
        except InputTroubleError as trouble:
            dialogue.tell(str(trouble), lead="  ")
    dialogue.tell(UNSEALED)
    return None
