"""What happened in an invented fleet: order by order, by chance, with what is planted."""

from dataclasses import dataclass
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from depot.fleet_columns import Names

Numbers = NDArray[np.int64]
Flags = NDArray[np.bool_]

FIRST_DAY: Final = 1_735_776_000
"""2025-01-02, in 2025-W01."""
DAY: Final = 86_400
MODELS: Final = Names("Fen 13", "Fen 14", "Osier 13", "Osier 15", "Sedge 14", "Alder 16")
REPAIRS: Final = Names("screen", "battery", "board", "keyboard+screen", "drive")
REPAIR_SHARES: Final = (0.35, 0.25, 0.06, 0.28, 0.06)
FITTED: Final = Names("display", "battery", "board", "keyboard", "drive")
"""The part that each of the repairs fits."""
KINDS: Final = ("wifi", "camera", "display", "battery", "drive", "keyboard", "touchpad", "fan")
ATTRIBUTES: Final = (
    "presence",
    "link",
    "health_percent",
    "firmware",
    "connection",
    "size",
    "count",
)
RULES: Final = Names(*(f"{kind}.{attribute}" for kind in KINDS for attribute in ATTRIBUTES))
REVIEW: Final = "sound_card.heard"
STATIONS: Final = 40
PART_NUMBERS: Final = 6
BOARD_SWAP: Final = 2
DRIVE_SWAP: Final = 4
PROVEN: Final = "time server of the depot"
UNPROVEN: Final = "clock of the machine that ran closeout, unproven"
IDENTITIES: Final = ("serial", "uuid", "board", "mac", "mac", "licence", "drive", "drive", "pack")
OF_BOARD: Final = 6
"""So many of the identities come with the board, but for the first: that is written into it."""


@dataclass(frozen=True, kw_only=True)
class Planted:
    """What must be found, and how much of it; nothing of it in a null fleet."""

    clashes: int = 0  # so many of each kind of identity
    fillers: int = 0  # units that show the same board serial
    odd_station: int = -1
    odd_rule: int = 0
    odd_base: float = 0.02
    odd_times: float = 12.0
    wrong_model: int = -1
    wrong_rule: int = RULES.index("display.size")
    bad_part: tuple[int, int] | None = None  # a repair, and which of its part numbers
    stale_station: int = -1


class Drawn:
    """The orders of a fleet, drawn at once: unit, station, parts, findings."""

    def __init__(self, seed: int, orders: int, planted: Planted, weeks: int) -> None:
        self.chance = np.random.default_rng(seed)
        self.orders, self.planted, self.weeks = orders, planted, weeks
        self._draw_orders()
        self._draw_findings()

    def _draw_orders(self) -> None:
        chance, n = self.chance, self.orders
        days = np.sort(chance.integers(0, self.weeks * 7, n))
        self.start = np.sort(FIRST_DAY + days * DAY + chance.integers(8 * 3600, 14 * 3600, n))
        self.unit, self.is_return = self._units(max(1, n // 60))
        self.model = chance.integers(0, len(MODELS), n)[self.unit]
        self.repair = chance.choice(len(REPAIRS), n, p=REPAIR_SHARES)
        self.station = self._stations()
        self.part = chance.integers(0, PART_NUMBERS, n)
        self.board, self.drive = self._boards(), self._drives()

    def _units(self, gap: int) -> tuple[Numbers, Flags]:
        """Each order's unit is the number of its first order; some units come back."""
        own = np.arange(self.orders)
        earlier = own - self.chance.integers(gap, gap * 6, self.orders)
        back = (self.chance.random(self.orders) < 0.05) & (earlier >= 0)
        back &= ~back[np.maximum(earlier, 0)]
        _, first = np.unique(np.where(back, earlier, -own - 1), return_index=True)
        once = np.zeros(self.orders, dtype=bool)
        once[first] = True
        back &= once  # a unit comes back once at most
        return np.where(back, earlier, own), back

    def _stations(self) -> Numbers:
        """Stations specialise: each model and repair has its own shares of them."""
        station = np.zeros(self.orders, dtype=np.int64)
        stratum = self.model * len(REPAIRS) + self.repair
        for each in range(len(MODELS) * len(REPAIRS)):
            here = stratum == each
            shares = self.chance.dirichlet(np.full(STATIONS, 0.5))
            station[here] = self.chance.choice(STATIONS, int(here.sum()), p=shares)
        return station

    def _boards(self) -> Numbers:
        """The board after the order: its own, a new one, or one that was taken out elsewhere."""
        return self._moved(BOARD_SWAP)

    def _drives(self) -> Numbers:
        """The drive after the order, likewise."""
        return self._moved(DRIVE_SWAP)

    def _moved(self, swap: int) -> Numbers:
        """What a unit showed at its first order goes on into another, once it was taken out."""
        part = self.unit.copy()
        swapped = np.flatnonzero(self.repair == swap)
        part[swapped] = self.orders + swapped
        self._follow(part, self.repair != swap)
        receivers = iter(swapped[~self.is_return[swapped]])
        for removing in np.flatnonzero(self.is_return & (self.repair == swap)):
            receiver = next((each for each in receivers if each > removing), None)
            if receiver is not None:
                part[receiver] = part[self.unit[removing]]
        self._follow(part, self.repair != swap)
        return part

    def _follow(self, part: Numbers, kept: Flags) -> None:
        """A unit that comes back has what its first order left in it."""
        back = np.flatnonzero(self.is_return & kept)
        part[back] = part[self.unit[back]]

    def _draw_findings(self) -> None:
        """Which rules each order's first attempt shows; every second rule is a must."""
        chance, strata = self.chance, len(MODELS) * len(REPAIRS)
        base = np.exp(chance.uniform(np.log(0.0005), np.log(0.02), len(RULES)))
        if self.planted.odd_station >= 0:
            base[self.planted.odd_rule] = self.planted.odd_base
        by_stratum = np.exp(chance.normal(-0.5, 1, (strata, len(RULES))))
        by_station = np.exp(chance.normal(0, 0.2, (STATIONS, len(RULES))))
        stratum = self.model * len(REPAIRS) + self.repair
        found: list[tuple[Numbers, int]] = []
        for rule in range(len(RULES)):
            share = base[rule] * by_stratum[stratum, rule] * by_station[self.station, rule]
            share = self._changed(rule, share)
            hit = chance.random(self.orders) < np.minimum(share, 0.9)
            found.append((np.flatnonzero(hit), rule))
        self.hit_order = np.concatenate([orders for orders, _ in found])
        self.hit_rule = np.concatenate([np.full(len(o), rule) for o, rule in found])
        self.held = np.zeros(self.orders, dtype=bool)
        self.held[self.hit_order[is_must(self.hit_rule)]] = True

    def _changed(self, rule: int, share: NDArray[Any]) -> NDArray[Any]:
        planted = self.planted
        late = self.start >= self.start[-1] - 35 * DAY
        if rule == planted.odd_rule and planted.odd_station >= 0:
            here = late & (self.station == planted.odd_station)
            share = np.where(here, share * planted.odd_times, share)
        if rule == planted.wrong_rule and planted.wrong_model >= 0:
            share = np.where(self.model == planted.wrong_model, 0.9, share)
        if planted.bad_part and rule == RULES.index(f"{FITTED[planted.bad_part[0]]}.presence"):
            repair, number = planted.bad_part
            share = np.where((self.repair == repair) & (self.part == number), 0.3, share)
        return share


def is_must(rule: Numbers) -> Flags:
    return rule % 2 == 0
