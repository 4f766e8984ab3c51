"""Invented boards of stations as counts alone, quick enough for hundreds of them.

As in the fleets: stations specialise, rates differ by model and repair, and honest stations differ
a little from one another. `python tests/depot/statistics/boards.py SEEDS` prints how often a null
board raises any alarm, and how often a planted station is found; minutes for a hundred seeds.
"""

import sys
from dataclasses import dataclass
from typing import Final

import numpy as np

from closeout.depot.across.stations import Compared, Counted, compare

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


def draw_board(seed: int, board: Board) -> tuple[list[Counted], list[Counted]]:
    """The orders of every station, and those that have each rule against them."""
    chance = np.random.default_rng(seed)
    base = np.exp(chance.uniform(np.log(0.001), np.log(0.08), RULES))
    base[0] = board.share
    by_sort = np.exp(chance.normal(0, 1, (SORTS, RULES)))
    by_sort[:, 0] = 1
    scatter = np.exp(chance.normal(0, board.scatter, (STATIONS, RULES)))
    work: list[Counted] = []
    found: list[Counted] = []
    for station in range(STATIONS):
        name = f"station-{station:02}"
        shares = chance.dirichlet(np.full(SORTS, 0.5))
        for sort, count in enumerate(chance.multinomial(board.orders, shares).tolist()):
            kind = (f"sort {sort}",)
            work.append(Counted(place=name, sort=kind, count=count))
            rates = base * by_sort[sort] * scatter[station]
            if name == ODD:
                rates[0] = base[0] * board.times
            for rule, hit in enumerate(chance.binomial(count, np.minimum(rates, 0.9)).tolist()):
                if hit:
                    found.append(Counted(place=name, sort=kind, count=hit, rule=f"rule {rule:02}"))
    return work, found


def compared(seed: int, board: Board) -> Compared:
    """The board held against itself."""
    return compare(*draw_board(seed, board))


def false_alarms(seed: int, board: Board) -> int:
    """Alarms that are not the planted one."""
    return sum((odd.place, odd.rule) != (ODD, "rule 00") for odd in compared(seed, board).odd)


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
    for orders in (30, 60, 130, 500):
        for times in (3, 12):
            for share in (0.01, 0.02):
                board = Board(orders=orders, times=times, share=share)
                hits = sum(is_found(seed, board) for seed in range(seeds)) / seeds
                say(f"planted x{times} of {share:.0%}, {orders} orders: found {hits:.2f}")


def say(line: str) -> None:
    print(line, flush=True)  # noqa: T201 - the figure is what it is for


if __name__ == "__main__":
    main(int(sys.argv[1]))
