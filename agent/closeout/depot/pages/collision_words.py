"""What a lead is told of each collision: what it is, why it is said, and what to look at."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from typing import Final, TypeAlias

from closeout.depot.across.moves import Meeting, Sighting
from closeout.depot.across.profiles import WrongDemand
from closeout.depot.across.stations import Odd, Sight
from closeout.depot.pages.telling import (
    tell_chance,
    tell_count,
    tell_day,
    tell_percent,
)
from closeout.model.frozen import replace
from closeout.report.redact import PERSONAL_RULES
from closeout.report.veil import mask

Veil: TypeAlias = Callable[[str], str]
"""How a serial or a unit is shown: as it is, or masked."""

KIND_WORDS: Final[Mapping[str, str]] = {
    "serial": "system serial",
    "uuid": "UUID",
    "board": "board serial",
    "mac": "MAC address",
    "licence": "licence token",
    "drive": "drive serial",
    "pack": "battery serial",
    "label": "label serial",
}
WHAT_A_UNIT_IS: Final = (
    "A unit is the machine that orders are about: its label's serial, else its system board (serial"
    " and UUID). Parts move; a value on two units collides where no order explains how it came."
)
LOOK_AT: Final[Mapping[str, str]] = {
    "serial": "read both labels; one unit has the other's serial written into its firmware",
    "uuid": "ask who programmed the board: the UUID of another board was written into it",
    "board": "open the later unit: whose board is it? Look for an order that was not written",
    "mac": "look whether board or radio came from the other unit, or its address was copied",
    "licence": "one licence was put into two units: the later one needs its own",
    "drive": "look whose drive it is before anything is written; a customer's files may be on it",
    "pack": "look whether the packs were swapped on the bench",
    "label": "compare label and board; the board was changed without an order, or a label moved",
}
UNEXPLAINED: Final = "no order put it in or took it out between the two"
NEARLY_SURE: Final = 0.999
"""More is not said: the rest is how right the picture of right and wrong demands is."""
WORST: Final = ("drive", "licence", "board", "uuid", "serial", "label", "mac", "pack")
"""In this order something is looked at first."""


def as_it_is(text: str) -> str:
    """Nothing hidden."""
    return text


def masked(text: str) -> str:
    """`label ****1234`: how a unit is known stays, of a serial the last characters at most."""
    for kind in ("label ", "board "):
        if text.startswith(kind):
            return kind + mask(text.removeprefix(kind))
    return text if text.startswith(("order ", "report ")) else mask(text)


def gather(meetings: Iterable[Meeting]) -> list[tuple[Meeting, ...]]:
    """Those of the same units together, what is to be looked at first in front."""
    groups: dict[tuple[str, ...], list[Meeting]] = {}
    for meeting in meetings:
        groups.setdefault(_places(meeting), []).append(meeting)
    gathered = [tuple(sorted(group, key=_rank)) for group in groups.values()]
    return sorted(gathered, key=lambda group: (_rank(group[0]), _places(group[0])))


def name_values(group: Sequence[Meeting], veil: Veil) -> str:
    """`board serial PB1, UUID 4c4c…`."""
    return ", ".join(f"{KIND_WORDS[each.kind]} {veil(each.value)}" for each in group)


def name_units(group: Sequence[Meeting], veil: Veil) -> str:
    """`label S1 and label S2`; of a label the boards."""
    meeting = group[0]
    if meeting.kind == "label":
        boards = sorted({f"board {each.board}" for each in meeting.sightings})
        return " and ".join(veil(board) for board in boards)
    return " and ".join(veil(unit) for unit in sorted({each.unit for each in meeting.sightings}))


def tell_sighting(sighting: Sighting, veil: Veil) -> str:
    """Where and when it was seen."""
    order = f"order {sighting.order}" if sighting.order else "no order"
    days = " to ".join(dict.fromkeys((tell_day(sighting.first), tell_day(sighting.last))))
    station = f", {sighting.station}" if sighting.station else ""
    return f"{veil(sighting.unit)}: {order}{station}, {days}; report {sighting.digest[:12]}"


def tell_turns(meeting: Meeting, *, is_veiled: bool) -> tuple[str, ...]:
    """What explains each turn; a unit's serial in it is left out where it is to be hidden."""
    told = dict.fromkeys(turn.reason or UNEXPLAINED for turn in meeting.turns)
    return tuple(_without_units(reason, meeting) if is_veiled else reason for reason in told)


def tell_odd(odd: Odd, what: str = "orders") -> str:
    """`11 of 47 orders, 2.1 % elsewhere; odds 12.0 times; by chance alone 1 in 281`."""
    others = tell_percent(odd.other_count / odd.other_total) if odd.other_total else "-"
    ratio = f"odds {odd.ratio:.1f} times" if odd.ratio is not None else "never elsewhere"
    return (
        f"{odd.count} of {odd.total} {what} ({tell_percent(odd.count / odd.total)}), elsewhere"
        f" {others}; {ratio}; with all tests counted {tell_chance(odd.adjusted)} by chance"
    )


def tell_sight(sight: Sight, weeks: int) -> str:
    """What this volume could have shown, in words."""
    told = "; ".join(
        f"{times} times {share:.0%} in {_in_hundred(chance)} of 100"
        for share, times, chance in sight.powers
    )
    per_week = sight.units / weeks
    return f"{tell_count(sight.units, 'order')} ({per_week:.0f} a week) would show, at best, {told}"


def hide_personal(wrong: WrongDemand) -> WrongDemand:
    """The same without the values where the rule is about something that names the unit."""
    if wrong.rule not in PERSONAL_RULES:
        return wrong
    return replace(
        wrong,
        expected=mask(wrong.expected) if wrong.expected else "",
        alike=mask(wrong.alike) if wrong.alike else "",
    )


def tell_wrong(wrong: WrongDemand) -> tuple[str, ...]:
    """What is said of the profile, and what to do."""
    counts = f"{wrong.failed} of {tell_count(wrong.total, 'order')} fail it"
    stations = f"at {tell_count(wrong.stations, 'station')}"
    belief = tell_percent(min(wrong.belief, NEARLY_SURE))
    said = [f"{counts}, {stations}; that the demand is wrong: {belief}"]
    if wrong.alike:
        said.append(
            f"expected {wrong.expected}; {wrong.alike_count} of {wrong.failed} found the same:"
            f" {wrong.alike}"
        )
        said.append("read one good unit; if it shows this too, allow it in the profile")
    else:
        said.append("what was found differs or is missing: read one good unit, then the demand")
    return tuple(said)


def _in_hundred(chance: float) -> str:
    number = round(100 * chance)
    return "fewer than 1" if number < 1 else "more than 99" if number > 99 else f"{number}"  # noqa: PLR2004


def _places(meeting: Meeting) -> tuple[str, ...]:
    own = {each.unit for each in meeting.sightings}
    return (meeting.value, *sorted(own)) if meeting.kind == "label" else tuple(sorted(own))


def _rank(meeting: Meeting) -> tuple[int, str]:
    return WORST.index(meeting.kind), meeting.value


def _without_units(reason: str, meeting: Meeting) -> str:
    # The longest first: one serial may begin as another does.
    for unit in sorted({each.unit for each in meeting.sightings}, key=len, reverse=True):
        reason = reason.replace(unit, masked(unit))
    return reason
