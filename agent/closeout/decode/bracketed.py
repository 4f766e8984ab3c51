"""Lists of words of which the kernel puts the one in force in brackets: `auto [inhibit-charge]`.

Documents: Documentation/ABI/testing/sysfs-class-power, `charge_behaviour` and `charge_types`, and
sysfs-class-typec, the roles of a port.
"""

from __future__ import annotations

from typing import Final

from closeout.model.late_pattern import late_pattern

CHOSEN: Final = late_pattern(r"\[([^\[\]]+)\]")


def parse_chosen(text: str) -> str | None:
    """The word in brackets; the whole text where it is one word without; None for anything else."""
    chosen = [found.strip() for found in CHOSEN.findall(text)]
    if set(CHOSEN.sub("", text)) & set("[]"):
        return None
    words = chosen or [text.strip()]
    return words[0] or None if len(words) == 1 else None


def parse_chosen_word(text: str) -> str | None:
    """The same where each choice is one word: a list without brackets tells nothing."""
    chosen = parse_chosen(text)
    return chosen if chosen and len(chosen.split()) == 1 else None
