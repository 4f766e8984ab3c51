"""Collisions as JSON: every list whole."""

from __future__ import annotations

from typing import Final

from closeout.depot.across.moves import Meeting, Sighting
from closeout.depot.across.profiles import WrongDemand
from closeout.depot.across.stations import Compared, Odd
from closeout.depot.collisions import Collisions
from closeout.depot.pages import collision_words as words

FORMAT: Final = 1


def tree_of_collisions(found: Collisions, veil: words.Veil) -> dict[str, object]:
    """Plain values, in the order of the console."""
    return {
        "depot_collisions": FORMAT,
        "weeks": {"first": found.weeks.first, "last": found.weeks.last},
        "days": found.days,
        "clashes": [_tree_of_meeting(each, veil) for each in found.clashes],
        "fillers": [
            {
                "kind": each.kind,
                "value": veil(each.value),
                "units": each.units,
                "reports": each.reports,
            }
            for each in found.fillers
        ],
        "reports_without_unit": found.untold,
        "stations": _tree_of_compared(found.stations, "station"),
        "profiles": [_tree_of_wrong(each, veil) for each in found.profiles],
        "parts": _tree_of_compared(found.parts, "part_number"),
        "moves": [_tree_of_meeting(each, veil) for each in found.moves],
    }


def _tree_of_wrong(wrong: WrongDemand, veil: words.Veil) -> dict[str, object]:
    return dict((wrong if veil is words.as_it_is else words.hide_personal(wrong)).__dict__)


def _tree_of_meeting(meeting: Meeting, veil: words.Veil) -> dict[str, object]:
    is_veiled = veil is not words.as_it_is
    return {
        "kind": meeting.kind,
        "value": veil(meeting.value),
        "seen": [_tree_of_sighting(each, veil) for each in meeting.sightings],
        "reasons": list(words.tell_turns(meeting, is_veiled=is_veiled)),
        "look": words.LOOK_AT[meeting.kind] if meeting.is_clash else "",
    }


def _tree_of_sighting(sighting: Sighting, veil: words.Veil) -> dict[str, object]:
    return {
        "unit": veil(sighting.unit),
        "board": veil(sighting.board),
        "order": sighting.order,
        "station": sighting.station,
        "first": sighting.first,
        "last": sighting.last,
        "reports": sighting.reports,
        "report": sighting.digest,
    }


def _tree_of_compared(compared: Compared, place: str) -> dict[str, object]:
    return {
        "tests": compared.tests,
        "differ": [_tree_of_odd(each, place) for each in compared.odd],
        "power": [
            {
                place: sight.place,
                "orders": sight.units,
                "shown": [
                    {"share": share, "times": times, "power": round(power, 4)}
                    for share, times, power in sight.powers
                ],
            }
            for sight in compared.sights
        ],
    }


def _tree_of_odd(odd: Odd, place: str) -> dict[str, object]:
    ratio = None if odd.ratio is None else round(odd.ratio, 3)
    return {
        place: odd.place,
        "rule": odd.rule,
        "count": odd.count,
        "total": odd.total,
        "other_count": odd.other_count,
        "other_total": odd.other_total,
        "odds_ratio": ratio,
        "chance": odd.chance,
        "adjusted": odd.adjusted,
    }
