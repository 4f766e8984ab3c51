"""The demands that are rightly met where a reading says that there is none."""

import tomllib
from functools import cache
from pathlib import Path
from typing import Final

LIST: Final = Path(__file__).with_name("absence.toml")


@cache
def load_absence() -> frozenset[str]:
    """The rules of the list, each of which has its reason there."""
    listed = tomllib.loads(LIST.read_text(encoding="utf-8"))
    reasons: dict[str, str] = listed["met_by_absence"]
    assert all(reasons.values())
    return frozenset(reasons)
