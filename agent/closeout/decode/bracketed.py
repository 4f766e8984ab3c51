"""Lists of words of which the kernel puts the one in force in brackets: `auto [inhibit-charge]`.

Document: Documentation/ABI/testing/sysfs-class-power, `charge_behaviour` and `charge_types`.
"""

import re
from typing import Final

CHOSEN: Final = re.compile(r"\[([^\[\]]+)\]")


def parse_chosen(text: str) -> str | None:
    """The word in brackets; the whole text where it is one word without; None for anything else."""
    found = CHOSEN.findall(text)
    if len(found) == 1:
        return str(found[0]).strip() or None
    plain = text.strip()
    return plain if not found and plain and not set(plain) & set("[]") else None
