"""Lists of words of which the kernel puts the one in force in brackets: `auto [inhibit-charge]`.

Document: Documentation/ABI/testing/sysfs-class-power, `charge_behaviour` and `charge_types`.
"""

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
