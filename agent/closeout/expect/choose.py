"""Which profile a unit is judged by when nobody named one."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Final

from closeout.expect.profile import Match, Profile

ANY_NOTEBOOK: Final = "any-notebook"


def choose_profile(profiles: Iterable[Profile], manufacturer: str, product: str) -> Profile:
    """The profile for this unit, else the one for any notebook.

    Maker and product must be exactly what the firmware names. Raises LookupError where neither
    profile is there.
    """
    by_id = {profile.id: profile for profile in profiles}
    wanted = Match(manufacturer=manufacturer, product=product)
    for name in sorted(by_id):
        if by_id[name].matches == wanted and not by_id[name].only_inherited:
            return by_id[name]
    return by_id[ANY_NOTEBOOK]
