"""Demands that nearly every unit of a model fails: it is the profile that is wrong."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Final, TypeAlias

from closeout.depot.statistics.belief import SURE, belief_in_wrong
from closeout.model.frozen import frozen

Profile: TypeAlias = tuple[str, str]
"""The model, and the digest of its profile."""
FEWEST_STATIONS: Final = 2
"""What only one station sees may be that station."""
CONCORDANT: Final = 0.8
FEWEST_ALIKE: Final = 2
ABSENT: Final = ("none", "nothing", "no ", "not ", "absent", "missing", "blank", "empty", "unread")
"""So begins what is said of a part that is not there: that is a fault, however often."""


@frozen
class Failing:
    """How often a rule failed by one profile, and at how many stations."""

    profile: Profile
    rule: str
    failed: int
    stations: int


@frozen
class Found:
    """What was expected and found where it failed, and how often."""

    expected: str
    found: str
    count: int


@frozen
class WrongDemand:
    """A demand to be looked at; `alike` is what was found instead where it was mostly the same."""

    model: str
    profile_digest: str
    rule: str
    failed: int
    total: int
    stations: int
    belief: float
    expected: str
    alike: str
    alike_count: int


def suspects(failing: Iterable[Failing], totals: Mapping[Profile, int]) -> list[Failing]:
    """Rules of which it is to be believed that the demand is wrong."""
    return [
        each
        for each in failing
        if each.stations >= FEWEST_STATIONS
        and belief_in_wrong(each.failed, totals[each.profile]) >= SURE
    ]


def describe(suspect: Failing, total: int, found: Iterable[Found]) -> WrongDemand:
    """The suspect with what was found in place of what was expected."""
    told = sorted(found, key=lambda each: (-each.count, each.found))
    most = told[0] if told else Found(expected="", found="", count=0)
    same = most.count >= max(FEWEST_ALIKE, CONCORDANT * suspect.failed)
    is_alike = same and not is_absence(most.found)
    return WrongDemand(
        model=suspect.profile[0],
        profile_digest=suspect.profile[1],
        rule=suspect.rule,
        failed=suspect.failed,
        total=total,
        stations=suspect.stations,
        belief=belief_in_wrong(suspect.failed, total),
        expected=most.expected,
        alike=most.found if is_alike else "",
        alike_count=most.count if is_alike else 0,
    )


def is_absence(found: str) -> bool:
    """Nothing was found, or nothing that could be read: no other value in its place."""
    return not found or found.lower().startswith(ABSENT)


def latest_profiles(last_used: Mapping[Profile, int]) -> set[Profile]:
    """Of each model the profile that was used last: a mended one is not held against its past."""
    latest: dict[str, tuple[int, str]] = {}
    for (model, digest), moment in last_used.items():
        latest[model] = max(latest.get(model, (moment, digest)), (moment, digest))
    return {(model, digest) for model, (_, digest) in latest.items()}
