"""How a model's label shows a field that the firmware holds in another form."""

from __future__ import annotations

from typing import Final

from closeout.model.frozen import frozen

CASES: Final = ("as-is", "upper", "lower")
HYPHENS: Final = ("keep", "drop")


@frozen
class LabelFormat:
    """What to do with a text off the label to have it as the firmware would.

    `prefixes` are words in front of the value (`S/N:`), the longest that fits is taken off;
    `case` is one of CASES, `hyphens` one of HYPHENS.
    """

    prefixes: tuple[str, ...] = ()
    case: str = "as-is"
    hyphens: str = "keep"

    def apply(self, text: str) -> str:
        """The text in the firmware's form; spaces around it are never part of it."""
        kept = text.strip()
        fitting = [
            prefix for prefix in self.prefixes if kept.casefold().startswith(prefix.casefold())
        ]
        kept = kept[max(map(len, fitting), default=0) :].strip()
        if self.hyphens == "drop":
            kept = kept.replace("-", "")
        return {"upper": kept.upper(), "lower": kept.lower()}.get(self.case, kept)


AS_IT_STANDS: Final = LabelFormat()
