"""Which lines of the kernel's log tell of trouble, and which are known to mean nothing."""

from __future__ import annotations

import re
from typing import Final

from closeout.model.frozen import frozen


@frozen
class LogRule:
    """Lines in which the pattern is found (Python's `re`), and what they mean to people."""

    pattern: str
    meaning: str

    def is_found_in(self, text: str) -> bool:
        """Whether a text is such a line; `re` keeps what it compiled."""
        return re.search(self.pattern, text) is not None


@frozen
class LogRules:
    """What is harmless is known one line at a time, and counts before what is trouble."""

    harmless: tuple[LogRule, ...] = ()
    trouble: tuple[LogRule, ...] = ()


NO_RULES: Final = LogRules()
"""Nothing is known of any line."""
