"""Tokens in place of what names a unit: alike where the values are, and no way back.

A token is an HMAC of the value with the depot's secret. Whoever has the tokens sees that two units
share an address, and not which address it is; whoever has the secret too could try all serials.
"""

from __future__ import annotations

import hashlib
import hmac
from collections.abc import Callable, Iterable, Mapping
from typing import Final

from closeout.depot.facts import Row
from closeout.model.late_pattern import late_pattern
from closeout.report.redact import PERSONAL_RULES

LENGTH: Final = 20
"""Digits of a token: two of a million values are alike with a chance of one in 10^12."""
MARK: Final = "t-"
SHORTEST: Final = 5
"""Characters of a value that is sought in other texts; a shorter one would be found by chance."""
WORD: Final = late_pattern(r"[A-Za-z0-9][A-Za-z0-9:._-]*[A-Za-z0-9]")
VALUES: Final[Mapping[str, tuple[str, ...]]] = {
    "report": ("board", "label_serial", "work_order"),
    "part": ("serial",),
    "identity": ("value", "board"),
}
UNITS: Final = frozenset({"report", "identity"})
TEXTS: Final[Mapping[str, tuple[str, ...]]] = {
    "finding": ("subject", "label", "expected", "found", "connection"),
    "step": ("title", "action"),
}
"""Columns of free text, in which a value of the unit may stand."""


class Tokens:
    """What makes the tokens of one secret."""

    def __init__(self, secret: bytes) -> None:
        self._secret = secret

    def token(self, value: str) -> str:
        """The token of a value; nothing stays nothing."""
        if not value:
            return ""
        digest = hmac.new(self._secret, value.upper().encode(), hashlib.sha256).hexdigest()
        return f"{MARK}{digest[:LENGTH]}"

    def hide(self, table: str, row: Row, known: frozenset[str]) -> Row:
        """The row with tokens; `known` are the values that are sought in its texts."""
        changed = {name: self.token(str(row[name])) for name in VALUES.get(table, ())}
        if table in UNITS:
            kind, _, value = str(row["unit"]).partition(" ")
            changed["unit"] = f"{kind} {self.token(value)}"
        change: Callable[[str], str] = lambda text: self._hide_words(text, known)  # noqa: E731
        for name in TEXTS.get(table, ()):
            changed[name] = change(str(row[name]))
        if row.get("rule") in PERSONAL_RULES:
            changed |= {name: self.token(str(row[name])) for name in ("expected", "found")}
        return {**row, **changed}

    def _hide_words(self, text: str, known: frozenset[str]) -> str:
        def hidden(word: str) -> str:
            return self.token(word) if word.upper() in known else word

        return WORD.sub(lambda found: hidden(found[0]), text)


def known_values(values: Iterable[str]) -> frozenset[str]:
    """The values that are sought in texts: each whole, and of a pack its serial alone too."""
    pieces = (piece for value in values for piece in (value, value.rpartition("/")[2]))
    return frozenset(piece for piece in pieces if len(piece) >= SHORTEST)
