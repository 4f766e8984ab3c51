"""Collisions on a screen: alarms first, what was explained after them, and what could be seen."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Final

from closeout.depot.across.moves import Meeting, Sighting
from closeout.depot.across.stations import Compared
from closeout.depot.collisions import Collisions
from closeout.depot.pages import collision_words as words
from closeout.depot.pages.telling import tell_count
from closeout.report.console import Desk
from closeout.report.screen import Screen

MOST_CLASHES: Final = 50
MOST_MOVES: Final = 10
MOST_SIGHTS: Final = 5
MORE: Final = "and {} more in --json"
HOW_TESTED: Final = (
    "Compared within model and repairs, one first attempt an order. An alarm is what an odds ratio"
    " of 1.5 does not explain, at most one false alarm in twenty."
)


def render_collisions(found: Collisions, screen: Screen, veil: words.Veil) -> None:
    """Clashes, fillers, stations, profiles, parts, explained moves."""
    desk = Desk(screen)
    desk.line(words.WHAT_A_UNIT_IS)
    _print_clashes(found, desk, veil)
    _print_fillers(found, desk, veil)
    _print_stations(found, desk)
    _print_profiles(found, desk, veil)
    _print_parts(found, desk)
    _print_moves(found, desk, veil)


def _print_clashes(found: Collisions, desk: Desk, veil: words.Veil) -> None:
    groups = words.gather(found.clashes)
    desk.heading(f"Clashes: {len(groups)}")
    for group in groups[:MOST_CLASHES]:
        desk.line(words.name_values(group, veil), lead="- ", style="bold red")
        desk.line(f"on {words.name_units(group, veil)}", lead="  ")
        for sighting in _sightings(group):
            desk.line(words.tell_sighting(sighting, veil), lead="    ")
        is_veiled = veil is not words.as_it_is
        for reason in _reasons(group, is_veiled=is_veiled):
            desk.line(reason, lead="  why: ")
        desk.line(words.LOOK_AT[group[0].kind], lead="  look: ")
    _print_left(groups, MOST_CLASHES, desk)
    if found.untold:
        told = tell_count(found.untold, "report tells", "reports tell")
        desk.line(f"{told} neither label nor board: no unit to compare them by", lead="  ")


def _sightings(group: Sequence[Meeting]) -> Iterable[Sighting]:
    """Each place once, by the first of the values that were seen there."""
    seen: set[tuple[str, str, str]] = set()
    for meeting in group:
        for one in meeting.sightings:
            key = (one.unit, one.board, one.order)
            if key not in seen:
                seen.add(key)
                yield one


def _reasons(group: Sequence[Meeting], *, is_veiled: bool) -> Iterable[str]:
    return dict.fromkeys(
        reason for meeting in group for reason in words.tell_turns(meeting, is_veiled=is_veiled)
    )


def _print_fillers(found: Collisions, desk: Desk, veil: words.Veil) -> None:
    if not found.fillers:
        return
    desk.heading("On more than five units: a filler that is not known yet?")
    for each in found.fillers:
        shown = f"{words.KIND_WORDS[each.kind]} {veil(each.value)}"
        told = f"{tell_count(each.units, 'unit')}, {tell_count(each.reports, 'report')}"
        desk.line(told, lead=f"  {shown}: ")
    desk.line("If it is none, somebody copies one unit's identity into all of them.", lead="  ")


def _print_stations(found: Collisions, desk: Desk) -> None:
    compared = found.stations
    desk.heading(f"Stations that differ, {found.weeks.text}")
    for odd in compared.odd:
        desk.line(f"{odd.place}: {odd.rule}", lead="- ", style="bold yellow")
        desk.line(words.tell_odd(odd), lead="  ")
        desk.line(
            "watch how it is checked there, and look at its stick and cables", lead="  look: "
        )
    _print_none(compared.odd, desk)
    desk.line(f"{HOW_TESTED} {tell_count(compared.tests, 'test')}.", lead="  ")
    _print_sights(compared, found.weeks.count, desk)


def _print_sights(compared: Compared, weeks: int, desk: Desk) -> None:
    """The stations that could show least: for them silence means least."""
    least = sorted(compared.sights, key=lambda each: (each.units, each.place))
    if least:
        desk.line("What could have been seen, the smallest stations first:", lead="  ")
    for sight in least[:MOST_SIGHTS]:
        desk.line(words.tell_sight(sight, weeks), lead=f"    {sight.place}: ")
    _print_left(least, MOST_SIGHTS, desk)


def _print_profiles(found: Collisions, desk: Desk, veil: words.Veil) -> None:
    desk.heading("Demands that nearly every unit of a model fails")
    for wrong in found.profiles:
        desk.line(f"{wrong.model}: {wrong.rule}", lead="- ", style="bold yellow")
        shown = wrong if veil is words.as_it_is else words.hide_personal(wrong)
        for line in words.tell_wrong(shown):
            desk.line(line, lead="  ")
    _print_none(found.profiles, desk)


def _print_parts(found: Collisions, desk: Desk) -> None:
    desk.heading(f"Part numbers that fail early: at once, or back within {found.days} days")
    for odd in found.parts.odd:
        desk.line(f"{odd.rule} {odd.place}", lead="- ", style="bold yellow")
        desk.line(words.tell_odd(odd, "fitted"), lead="  ")
        desk.line("put the rest of the delivery aside, and ask the supplier", lead="  look: ")
    _print_none(found.parts.odd, desk)
    desk.line(
        f"{tell_count(found.parts.tests, 'part number')} compared with others of the class "
        "for the same model.",
        lead="  ",
    )


def _print_moves(found: Collisions, desk: Desk, veil: words.Veil) -> None:
    groups = words.gather(found.moves)
    desk.heading(f"Moved, with an order that explains it: {len(groups)}")
    is_veiled = veil is not words.as_it_is
    for group in groups[:MOST_MOVES]:
        desk.line(words.name_values(group, veil), lead="- ")
        desk.line(f"on {words.name_units(group, veil)}", lead="  ")
        for reason in _reasons(group, is_veiled=is_veiled):
            desk.line(reason, lead="  ")
    _print_left(groups, MOST_MOVES, desk)


def _print_none(found: Sequence[object], desk: Desk) -> None:
    if not found:
        desk.line("none", lead="  ")


def _print_left(found: Sequence[object], most: int, desk: Desk) -> None:
    if len(found) > most:
        desk.line(MORE.format(f"{len(found) - most:,}"), lead="  ")
