"""What the system's own keyboard layouts show for a key (`xkbcli compile-keymap`)."""

import re
import shutil
import subprocess
from collections.abc import Mapping
from typing import Final

KEYS: Final = re.compile(r"key <(\w+)>\s*\{(.*?)\};", re.DOTALL)
SYMBOLS: Final = re.compile(r"\[\s*(\w+(?:,\s*\w+)*)\s*\]")
NAMED: Final[Mapping[str, str]] = {
    "space": " ",
    "exclam": "!",
    "quotedbl": '"',
    "dollar": "$",
    "ampersand": "&",
    "apostrophe": "'",
    "parenleft": "(",
    "parenright": ")",
    "asterisk": "*",
    "plus": "+",
    "comma": ",",
    "minus": "-",
    "period": ".",
    "slash": "/",
    "colon": ":",
    "semicolon": ";",
    "question": "?",
    "bracketright": "]",
    "underscore": "_",
    "section": "§",
    "degree": "°",
    "ssharp": "ß",
    "agrave": "à",
    "ccedilla": "ç",
    "egrave": "è",
    "eacute": "é",
    "ntilde": "ñ",
    "Ntilde": "Ñ",
    "ograve": "ò",
    "odiaeresis": "ö",
    "Odiaeresis": "Ö",
    "dead_diaeresis": "¨",
}
Place = tuple[str, int]
"""The name of a key, and 1 where Shift is held, else 0."""


def reason_to_skip() -> str:
    """Why there is nothing to compare with; empty where there is."""
    return "" if shutil.which("xkbcli") else "xkbcli is not installed (package libxkbcommon-tools)"


def characters(layout: str) -> Mapping[Place, str]:
    """What each key of the layout shows, alone and with Shift, as far as NAMED knows it."""
    done = subprocess.run(
        ["xkbcli", "compile-keymap", "--layout", layout],
        capture_output=True,
        check=True,
        timeout=30,
        text=True,
    )
    shown: dict[Place, str] = {}
    for key, body in KEYS.findall(done.stdout):
        if found := SYMBOLS.findall(body):
            names = [name.strip() for name in found[-1].split(",")]
            for shift, name in enumerate((names * 2)[:2] if len(names) == 1 else names[:2]):
                character = name if len(name) == 1 else NAMED.get(name)
                if character:
                    shown[key, shift] = character
    return shown
