"""The word in brackets of a kernel attribute that lists what could be chosen: `host [device]`.

Documentation/ABI/testing/sysfs-class-typec: the valid values are listed, the current one in
brackets; where only one is possible it may stand alone.
"""

from typing import Final

from closeout.model.late_pattern import late_pattern

CHOSEN: Final = late_pattern(r"\[([^\[\]\s]+)\]")


def parse_chosen(text: str) -> str | None:
    """The one word in brackets, or the one word that there is; None for anything else."""
    chosen = CHOSEN.findall(text)
    words = text.split()
    if len(chosen) == 1:
        return str(chosen[0])
    if not chosen and len(words) == 1 and not set("[]") & set(text):
        return words[0]
    return None
