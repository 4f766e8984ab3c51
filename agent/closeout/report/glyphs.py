"""Which characters paper can show: those of the fonts that typst brings with it.

The text is in Libertinus Serif (SIL Open Font License 1.1), numbers and symbols in DejaVu Sans
Mono (Bitstream Vera's licence, changes in the public domain). A character that neither has would
be an empty box, which PDF/A forbids: it is spelled out, as what hides or acts is.
"""

from __future__ import annotations

from typing import Final

from closeout.model.late_pattern import late_pattern
from closeout.report.foreign import spell_out

LETTERS: Final = (
    "\x20-\x7e"
    "\xa1-\xac\xae-\u017f\u0218-\u021b\u1e9e"  # Latin, without the soft hyphen
    "\u0386\u0388-\u038a\u038c\u038e-\u03a1\u03a3-\u03ce"  # Greek
    "\u0400-\u045f\u0490\u0491"  # Cyrillic
)
SIGNS: Final = (
    "\u2013\u2014\u2018-\u201a\u201c-\u201e\u2020-\u2022\u2026\u2030\u2039\u203a\u20ac\u2116\u2122"
    "\u2190-\u2193\u2212\u221e\u2248\u2260\u2264\u2265"
    "\u2298\u25cb\u2610\u2713\u2717"  # those of outcomes and verdicts
)
NO_GLYPH: Final = late_pattern(f"[^{LETTERS}{SIGNS}]")


def fit_fonts(text: str) -> str:
    r"""The text in characters that paper shows; each other one as `\u6f22`."""
    return NO_GLYPH.sub(lambda found: spell_out(found[0]), text)
