r"""Regular expressions that are compiled when they are first tried.

A check knows some two hundred and tries about half of them: the others belong to parts that the
unit does not have. To compile them all takes as long as a bare interpreter:

    CARD: Final = late_pattern(r"card\d+")
"""

from __future__ import annotations

import re
from typing import Any, AnyStr, cast


def late_pattern(pattern: AnyStr, flags: int = 0) -> re.Pattern[AnyStr]:
    """Like `re.compile`, but a mistake in the pattern shows when it is first tried."""
    return cast("re.Pattern[AnyStr]", LatePattern(pattern, flags))


class LatePattern:
    """To its users a pattern of the standard library's."""

    def __init__(self, pattern: str | bytes, flags: int) -> None:
        self.pattern = pattern
        self._flags = flags

    def __getattr__(self, name: str) -> Any:  # noqa: ANN401 - whatever a pattern has
        """What was not asked for yet; from then on it is an attribute like any other."""
        found = getattr(re.compile(self.pattern, self._flags), name)
        setattr(self, name, found)
        return found
