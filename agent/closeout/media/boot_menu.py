"""What the loader is told: one entry that starts at once, and two behind a key."""

from __future__ import annotations

from typing import Final

from closeout.media.recipe import kernel_options

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
    linux {folder}vmlinuz {options}
    initrd {folder}initrd
}}
"""
TITLES: Final = {
    "closeout: check this unit": "",
    "closeout: with the firmware's own display (nomodeset)": "nomodeset",
    "closeout: everything the kernel says, on the serial line too": "loglevel=7 ignore_loglevel",
}


def boot_menu(volume: str, folder: str = "/") -> str:
    """The loader's configuration; kernel and initial file system lie in `folder`."""
    entries = (
        ENTRY.format(title=title, folder=folder, options=f"{kernel_options(volume)} {more}".strip())
        for title, more in TITLES.items()
    )
    return MENU.format(entries="\n".join(entries))
