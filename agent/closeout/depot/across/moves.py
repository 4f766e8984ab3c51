"""Whether a value that two units showed got there by somebody's work, or is one too many.

A unit is the machine that orders are about: its label's serial, else its system board. What was
seen is laid out in the order of time. Wherever the value goes from one unit to another, an order
has to explain it: one that put such a part into the later unit, or took it out of the earlier.
Each way that nothing explains is a clash. Where two units showed it by turns, each turn needs its
order; so a part that was copied does not pass for one that was moved.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from itertools import pairwise
from typing import Final

from closeout.model.frozen import frozen
from closeout.model.handling import PartChange

OF_BOARD: Final = frozenset({"serial", "uuid", "board", "mac", "licence", "label"})
"""What comes and goes with the system board."""
LABEL: Final = "label"
"""The label's serial stays with the housing: what it must not do is to change its board."""
PARTS_OF: Final[Mapping[str, frozenset[str]]] = {
    "drive": frozenset({"drive"}),
    "pack": frozenset({"battery"}),
    "mac": frozenset({"board", "wifi", "bluetooth", "wwan", "wired_network"}),
}
BOARD: Final = frozenset({"board"})
UNKNOWN_UNITS: Final = ("order ", "report ")
"""So begin units of which neither label nor board was told: they may be any machine."""
LABELLED: Final = "label "


@frozen
class Sighting:
    """One value on one unit with one board in one order: when first and last, in which report."""

    kind: str
    value: str
    unit: str
    board: str
    order: str
    station: str
    first: int
    last: int
    reports: int
    digest: str


@frozen
class Work:
    """What one order did to a unit."""

    unit: str
    order: str
    first: int
    replaces_board: bool
    parts: tuple[PartChange, ...] = ()


@frozen
class Turn:
    """The value goes from one unit to another; `reason` is empty where no order explains it."""

    before: Sighting
    after: Sighting
    reason: str


@frozen
class Meeting:
    """A value that was met on several units, with each turn that it took."""

    kind: str
    value: str
    sightings: tuple[Sighting, ...]
    turns: tuple[Turn, ...]

    @property
    def is_clash(self) -> bool:
        """Some turn has no explanation."""
        return any(not turn.reason for turn in self.turns)


def judge_meeting(sightings: Sequence[Sighting], works: Iterable[Work]) -> Meeting | None:
    """What became of one value; none where it was on one machine only, as far as is known."""
    known = tuple(one for one in sightings if not one.unit.startswith(UNKNOWN_UNITS))
    owners = _owners(known)
    if len(set(owners.values())) < 2:  # noqa: PLR2004 - one machine cannot clash
        return None
    by_unit: dict[str, list[Work]] = {}
    for work in works:
        by_unit.setdefault(work.unit, []).append(work)
    events = _events(known)
    turns = tuple(
        Turn(before=one, after=other, reason=_explain(one, other, at, by_unit))
        for (_, one), (at, other) in pairwise(events)
        if owners[_place(one)] != owners[_place(other)]
    )
    first = known[0]
    return Meeting(kind=first.kind, value=first.value, sightings=known, turns=turns)


def _events(sightings: Iterable[Sighting]) -> list[tuple[int, Sighting]]:
    """Each sighting at its first time and at its last."""
    found = [(moment, one) for one in sightings for moment in sorted({one.first, one.last})]
    return sorted(found, key=lambda each: (each[0], each[1].unit, each[1].board, each[1].order))


def _place(sighting: Sighting) -> tuple[str, str]:
    return sighting.unit, sighting.board


def _owners(sightings: Sequence[Sighting]) -> dict[tuple[str, str], str]:
    """The machine of each unit and board: a board without a label is that of its labelled unit."""
    if any(one.kind == LABEL for one in sightings):
        return {_place(one): one.board for one in sightings}
    labels: dict[str, set[str]] = {}
    for one in sightings:
        if one.board and one.unit.startswith(LABELLED):
            labels.setdefault(one.board, set()).add(one.unit)
    owners: dict[tuple[str, str], str] = {}
    for one in sightings:
        among = labels.get(one.board, set())
        is_same = not one.unit.startswith(LABELLED) and len(among) == 1
        owners[_place(one)] = min(among) if is_same else one.unit
    return owners


def _explain(
    before: Sighting, after: Sighting, at: int, works: Mapping[str, Sequence[Work]]
) -> str:
    """Which order explains that the value is on the later unit now; empty for none."""
    arriving = _within(works.get(after.unit, ()), after.order, before.first, at)
    arrived = next(filter(None, (_put_in(work, before) for work in arriving)), "")
    if before.kind == LABEL:
        return arrived
    leaving = _within(works.get(before.unit, ()), before.order, before.first, at)
    left = next(filter(None, (_taken_out(work, before) for work in leaving)), "")
    return "; ".join(filter(None, (left, arrived)))


def _within(works: Iterable[Work], order: str, since: int, until: int) -> Iterator[Work]:
    """The works of a unit in the time between, and those of the order it was seen in."""
    yield from (work for work in works if work.order == order or since <= work.first <= until)


def _put_in(work: Work, seen: Sighting) -> str:
    if seen.kind in OF_BOARD and work.replaces_board:
        return f"{_named(work)} replaced its board"
    for part in work.parts:
        if part.is_fitted and _is_of(part, seen):
            return f"{_named(work)} fitted a {part.kind}"
    return ""


def _taken_out(work: Work, seen: Sighting) -> str:
    if seen.kind in OF_BOARD and work.replaces_board:
        return f"{_named(work)} took its board out"
    for part in work.parts:
        if not part.is_fitted and _is_of(part, seen):
            return f"{_named(work)} removed a {part.kind}"
    return ""


def _is_of(part: PartChange, seen: Sighting) -> bool:
    """The order's part can be the one that shows the value."""
    serial = part.serial.strip().upper()
    value = seen.value.strip().upper()
    if serial in {value, value.rpartition("/")[2]}:
        return bool(serial)
    if serial and _tells_its_serial(seen):
        return False  # another one of that sort explains nothing
    return part.kind in PARTS_OF.get(seen.kind, BOARD)


def _tells_its_serial(seen: Sighting) -> bool:
    """The value is or ends in the serial that the order would name; a token of a pack does not."""
    return seen.kind == "drive" or (seen.kind == "pack" and "/" in seen.value)


def _named(work: Work) -> str:
    return f"order {work.order} of {work.unit}" if work.order else f"work on {work.unit}"
