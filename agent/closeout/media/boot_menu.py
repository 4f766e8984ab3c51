"""What the loader is told: one entry that starts at once, and two behind a key."""

from __future__ import annotations

from typing import Final

from closeout.media.recipe import kernel_options
from closeout.media.trees import INITIAL, ROOT

MENU: Final = """\
# Starts at once. Hold or press Escape in the first second for the other entries.
insmod serial
serial --unit=0 --speed=115200
set default=0
set timeout_style=hidden
set timeout=1

{entries}"""
ENTRY: Final = """\
menuentry "{title}" {{
    echo "closeout is being loaded into memory ..."
    linux /vmlinuz {options}
    initrd {initial}
}}
"""
TITLES: Final = {
    "closeout: check this unit": "",
    "closeout: with the firmware's own display (nomodeset)": "nomodeset",
    "closeout: everything the kernel says": "loglevel=7 ignore_loglevel",
}
LAST_TITLE: Final = "closeout: loaded by the unit's firmware, for a stick that is not found (slow)"


def stick_menu(shared: str, boot: str) -> str:
    """The menu of a stick; the last entry has everything loaded by the loader."""
    small, whole = f"/{INITIAL}", f"/{INITIAL} /{ROOT}"
    entries = [_entry(title, small, shared, boot, more) for title, more in TITLES.items()]
    entries.append(_entry(LAST_TITLE, whole, shared, boot))
    return MENU.format(entries="\n".join(entries))


def network_menu(shared: str, boot: str) -> str:
    """The menu of a start over the network, where the initial file system comes whole."""
    entries = (_entry(title, f"/{INITIAL}", shared, boot, more) for title, more in TITLES.items())
    return MENU.format(entries="\n".join(entries))


def _entry(title: str, initial: str, shared: str, boot: str, more: str = "") -> str:
    options = f"{kernel_options(shared, boot)} {more}".strip()
    return ENTRY.format(title=title, options=options, initial=initial)
