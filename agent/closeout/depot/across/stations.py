"""Stations whose findings differ from those of all others that do the same work.

Compared within model and repairs, one first attempt for each order, over weeks that are fixed
beforehand; each station and rule is one test, and of all alarms together at most one in twenty is
false on average. See `closeout.depot.statistics.stratified` for the test.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator
from typing import Final, TypeAlias

from closeout.depot.statistics.discovery import FALSE_SHARE, adjust
from closeout.depot.statistics.power import power
from closeout.depot.statistics.stratified import Stratum, chance_of_more, ratio_of
from closeout.model.frozen import frozen, replace

Sort: TypeAlias = tuple[str, ...]
"""What makes work comparable: model and repairs."""
SHARES: Final = (0.01, 0.02, 0.05)
TIMES: Final = (3, 12)


@frozen
class Counted:
    """So many orders of one sort at one place; of a rule, where it stands against them."""

    place: str
    sort: Sort
    count: int
    rule: str = ""


@frozen
class Odd:
    """A place that has a finding too often: counts, odds ratio, chance, and that adjusted."""

    place: str
    rule: str
    count: int
    total: int
    other_count: int
    other_total: int
    ratio: float | None
    chance: float
    adjusted: float


@frozen
class Sight:
    """What could have been seen of one place: the power for each share of the others and factor."""

    place: str
    units: int
    powers: tuple[tuple[float, int, float], ...]


@frozen
class Compared:
    """All alarms, how many tests were made for them, and what each place's volume could show.

    The last only where it was asked for.
    """

    tests: int
    odd: tuple[Odd, ...]
    sights: tuple[Sight, ...]


def compare(
    work: Iterable[Counted], found: Iterable[Counted], *, tells_power: bool = False
) -> Compared:
    """Every place against all others, each rule for itself."""
    board = _Board(work, found)
    tests = list(board.tests())
    adjusted = adjust([test.chance for test in tests])
    odd = [
        replace(test, adjusted=value)
        for test, value in zip(tests, adjusted, strict=True)
        if value <= FALSE_SHARE
    ]
    chance = FALSE_SHARE / max(1, len(tests))
    places = sorted(board.volumes().items()) if tells_power else []
    sights = [_sight(place, units, chance) for place, units in places]
    return Compared(
        tests=len(tests),
        odd=tuple(sorted(odd, key=lambda each: (each.chance, each.place, each.rule))),
        sights=tuple(sights),
    )


def _sight(place: str, units: int, chance: float) -> Sight:
    powers = tuple(
        (share, times, power(units, share, times, chance)) for share in SHARES for times in TIMES
    )
    return Sight(place=place, units=units, powers=powers)


class _Board:
    """All counts of all places, by sort of work."""

    def __init__(self, work: Iterable[Counted], found: Iterable[Counted]) -> None:
        self._work: dict[str, Counter[Sort]] = {}
        self._all_work: Counter[Sort] = Counter()
        for each in work:
            self._work.setdefault(each.place, Counter())[each.sort] += each.count
            self._all_work[each.sort] += each.count
        self._found: Counter[tuple[str, str, Sort]] = Counter()
        self._all_found: Counter[tuple[str, Sort]] = Counter()
        self._rules: dict[Sort, set[str]] = {}
        for each in found:
            self._found[each.place, each.rule, each.sort] += each.count
            self._all_found[each.rule, each.sort] += each.count
            self._rules.setdefault(each.sort, set()).add(each.rule)

    def volumes(self) -> dict[str, int]:
        """Orders of each place."""
        return {place: counts.total() for place, counts in self._work.items()}

    def tests(self) -> Iterator[Odd]:
        """One for each place and rule that the counts can tell anything of."""
        for place in sorted(self._work):
            sorts = sorted(self._work[place])
            for rule in sorted({rule for sort in sorts for rule in self._rules.get(sort, ())}):
                strata = [each for each in self._strata(place, rule, sorts) if each.tells]
                if strata:
                    yield _tested(place, rule, strata)

    def _strata(self, place: str, rule: str, sorts: list[Sort]) -> Iterator[Stratum]:
        for sort in sorts:
            total, count = self._work[place][sort], self._found[place, rule, sort]
            yield Stratum(
                count=count,
                total=total,
                other_count=self._all_found[rule, sort] - count,
                other_total=self._all_work[sort] - total,
            )


def _tested(place: str, rule: str, strata: list[Stratum]) -> Odd:
    count = sum(each.count for each in strata)
    return Odd(
        place=place,
        rule=rule,
        count=count,
        total=sum(each.total for each in strata),
        other_count=sum(each.other_count for each in strata),
        other_total=sum(each.other_total for each in strata),
        ratio=ratio_of(strata),
        chance=chance_of_more(strata) if count > _expected(strata) else 1.0,
        adjusted=1.0,
    )


def _expected(strata: Iterable[Stratum]) -> float:
    """What it would have if it were like the others; up to that no test is needed."""
    return sum(
        each.total * (each.count + each.other_count) / (each.total + each.other_total)
        for each in strata
    )
