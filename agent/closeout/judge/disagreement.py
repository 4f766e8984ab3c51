"""How far a device is from what a part should be: one whole number, the smaller the nearer.

The points of a part and a device, added up over what is wanted:

- it agrees: nothing
- it could not be read: 1
- it could not be told whether the device is there, or inside: 100 once
- an attribute that wears with use differs (health): 100 000
- an attribute differs: 1 000 000
- the socket, the connector or a number of its own differs: 2 500 000

A part that is left without a device costs as much as a device that differs in everything, less
half an attribute; where no more than one attribute is wanted, half an attribute more. So a part
takes a device that differs in one thing, whatever it is, or that agrees in one of many, rather
than none; and none rather than a device that differs in all of two or more, which is plainly
another sort of part.

The points count a million million times as much for each step from a note to a should, to a must
that only asks a person, to a must. So what wears and what was not read never outweighs what
differs, and where two parts want one device it is the one that can hold the unit that has it: a
device more, which is as it should be, can then make no verdict worse.
"""

from __future__ import annotations

from typing import Final, assert_never

from closeout.judge.comparison import match_reading
from closeout.judge.selection import attribute_of, is_there
from closeout.model.device import Device
from closeout.model.expectation import Weight
from closeout.model.finding import Outcome
from closeout.model.part_demand import OWN_NUMBERS, PLACES, PartDemand

UNTOLD: Final = 1
UNSURE: Final = 100
WORN: Final = 100_000
DIFFERS: Final = 1_000_000
IDENTITY_DIFFERS: Final = 2_500_000
HALF: Final = DIFFERS // 2
STEP: Final = 1_000_000_000_000
SCALES: Final = (1, STEP, STEP * STEP, STEP * STEP * STEP)

WEARS: Final = frozenset({"health_percent"})
"""Attributes that tell how a part is and not which it is."""


def disagreement(part: PartDemand, device: Device) -> int:
    """What it costs that this device is the part."""
    there = is_there(device, external_counts=part.external_counts)
    if there is False:
        return cost_of_wrong(part)
    points = 0 if there else UNSURE
    for attribute, demand in part.wanted:
        match match_reading(attribute_of(device, attribute), demand).outcome:
            case Outcome.PASS:
                pass
            case Outcome.FAIL:
                points += _points_of(attribute)
            case _:
                points += UNTOLD
    return points * _scale(part)


def cost_of_none(part: PartDemand) -> int:
    """What it costs that the part is left without a device."""
    telling = [_points_of(attribute) for attribute, _ in part.wanted if attribute not in WEARS]
    extra = -HALF if len(telling) > 1 else HALF
    return (sum(telling) + extra) * _scale(part)


def cost_of_wrong(part: PartDemand) -> int:
    """More than having none: for a device that cannot be the part at all."""
    return cost_of_none(part) + HALF * _scale(part)


def _points_of(attribute: str) -> int:
    if attribute in WEARS:
        return WORN
    return IDENTITY_DIFFERS if attribute in PLACES | OWN_NUMBERS else DIFFERS


def _scale(part: PartDemand) -> int:
    match part.weight:
        case Weight.MUST:
            return SCALES[2] if part.review_only else SCALES[3]
        case Weight.SHOULD:
            return SCALES[1]
        case Weight.NOTE:
            return SCALES[0]
        case _:
            assert_never(part.weight)
