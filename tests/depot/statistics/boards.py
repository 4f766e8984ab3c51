"""Invented boards of stations as counts alone, quick enough for hundreds of them.

As in the fleets: stations specialise, rates differ by model and repair, and honest stations differ
a little from one another; an alarm is false where the true odds ratio is at most 1.5.
`python tests/depot/statistics/boards.py SEEDS` prints how often a null board raises a false alarm,
and how often a planted station is found; minutes for a hundred seeds.
"""

import sys
from dataclasses import dataclass
from typing import Any, Final, TypeAlias

import numpy as np
from numpy.typing import NDArray

from closeout.depot.across.stations import Compared, Counted, compare
from closeout.depot.statistics.stratified import UNREMARKABLE

Numbers: TypeAlias = NDArray[Any]
STATIONS: Final = 40
RULES: Final = 60
SORTS: Final = 6
ODD: Final = "station-07"


@dataclass(frozen=True, kw_only=True)
class Board:
    """What is drawn: orders a station, how far honest ones differ, and one planted case."""

    orders: int = 130
    scatter: float = 0.2
    times: float = 1.0
    share: float = 0.02


@dataclass(frozen=True, kw_only=True)
class Drawn:
    """Orders and findings of every station, and each one's true odds ratio to the others."""

    work: list[Counted]
    found: list[Counted]
    ratio: dict[tuple[str, str], float]


def draw_board(seed: int, board: Board) -> Drawn:
    """The orders of every station, and those that have each rule against them."""
    chance = np.random.default_rng(seed)
    base = np.exp(chance.uniform(np.log(0.001), np.log(0.08), RULES))
    base[0] = board.share
    by_sort = np.exp(chance.normal(0, 1, (SORTS, RULES)))
    by_sort[:, 0] = 1
    scatter = np.exp(chance.normal(0, board.scatter, (STATIONS, RULES)))
    rates = np.minimum(base * by_sort * scatter[:, None, :], 0.9)  # station, sort, rule
    if board.times > 1:
        rates[int(ODD[-2:]), :, 0] = np.minimum(base[0] * board.times, 0.9)
    counts = np.array(
        [
            chance.multinomial(board.orders, chance.dirichlet(np.full(SORTS, 0.5)))
            for _ in range(STATIONS)
        ]
    )
    hits = chance.binomial(counts[:, :, None], rates)
    places = [f"station-{number:02}" for number in range(STATIONS)]
    work = [
        Counted(place=places[station], sort=(f"{sort}",), count=int(counts[station, sort]))
        for station, sort in np.argwhere(counts)
    ]
    found = [
        Counted(
            place=places[station],
            sort=(f"{sort}",),
            count=int(hits[station, sort, rule]),
            rule=f"rule {rule:02}",
        )
        for station, sort, rule in np.argwhere(hits)
    ]
    return Drawn(work=work, found=found, ratio=_ratios(rates, counts, places))


def _ratios(rates: Numbers, counts: Numbers, places: list[str]) -> dict[tuple[str, str], float]:
    """The odds of each station and rule to those of the others, as its own work is composed."""
    ratio: dict[tuple[str, str], float] = {}
    for station, place in enumerate(places):
        others = np.arange(STATIONS) != station
        weights = counts[others][:, :, None]
        elsewhere = (rates[others] * weights).sum(0) / np.maximum(weights.sum(0), 1)
        odds = rates[station] / (1 - rates[station])
        theirs = np.maximum(elsewhere / (1 - elsewhere), 1e-9)
        mean = (odds / theirs * counts[station][:, None]).sum(0) / counts[station].sum()
        for rule in range(RULES):
            ratio[place, f"rule {rule:02}"] = float(mean[rule])
    return ratio


def compared(seed: int, board: Board) -> Compared:
    """The board held against itself."""
    drawn = draw_board(seed, board)
    return compare(drawn.work, drawn.found)


def false_alarms(seed: int, board: Board) -> int:
    """Alarms of stations whose true odds ratio is none above what is unremarkable."""
    drawn = draw_board(seed, board)
    odd = compare(drawn.work, drawn.found).odd
    return sum(drawn.ratio[each.place, each.rule] <= UNREMARKABLE for each in odd)


def is_found(seed: int, board: Board) -> bool:
    """The planted station is among the alarms."""
    return any((odd.place, odd.rule) == (ODD, "rule 00") for odd in compared(seed, board).odd)


def main(seeds: int) -> None:
    """A line a figure."""
    for orders in (130, 500):
        for scatter in (0.0, 0.2):
            board = Board(orders=orders, scatter=scatter)
            alarms = [false_alarms(seed, board) for seed in range(seeds)]
            share = sum(map(bool, alarms)) / seeds
            say(f"null, {orders} orders, scatter {scatter}: any false {share:.3f}")
    for orders in (30, 60, 130, 240, 500):
        for times in (12, 3):
            for share in (0.01, 0.02):
                board = Board(orders=orders, times=times, share=share)
                hits = sum(is_found(seed, board) for seed in range(seeds)) / seeds
                say(f"planted x{times} of {share:.0%}, {orders} orders: found {hits:.2f}")


def say(line: str) -> None:
    print(line, flush=True)  # noqa: T201 - the figure is what it is for


if __name__ == "__main__":
    main(int(sys.argv[1]))
