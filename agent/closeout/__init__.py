"""closeout: shows that a notebook is fit to go back after a repair."""

from typing import Final

VERSION: Final = "0.1.0"
