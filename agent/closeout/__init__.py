"""closeout: shows that a notebook is fit to go back after a repair."""

from __future__ import annotations

from typing import Final

VERSION: Final = "0.1.0"
