"""What is said of a collision: grouped by units, worst first, and masked where asked."""

import pytest

from closeout.depot.across.moves import Meeting, Sighting, judge_meeting
from closeout.depot.across.profiles import WrongDemand
from closeout.depot.across.stations import Odd, Sight
from closeout.depot.pages import collision_words as words
from closeout.model.frozen import replace


def meeting(kind: str, value: str, *units: str) -> Meeting:
    sightings = [
        Sighting(
            kind=kind,
            value=value,
            unit=f"label {unit}",
            board=f"board {unit}",
            order=f"order-{unit}",
            station="",
            first=place,
            last=place,
            reports=1,
            digest="ab" * 32,
        )
        for place, unit in enumerate(units)
    ]
    found = judge_meeting(sightings, [])
    assert found
    return found


def test_values_of_the_same_units_stand_together_the_worst_first() -> None:
    groups = words.gather(
        [
            meeting("mac", "02:00", "S1", "S2"),
            meeting("drive", "D9", "S3", "S4"),
            meeting("board", "B1", "S2", "S1"),
        ]
    )
    told = [words.name_values(group, words.as_it_is) for group in groups]
    assert told == ["drive serial D9", "board serial B1, MAC address 02:00"]
    assert words.name_units(groups[1], words.as_it_is) == "label S1 and label S2"


def test_a_label_is_told_by_its_boards() -> None:
    group = words.gather([meeting("label", "S1", "S1", "S2")])[0]
    assert words.name_units(group, words.as_it_is) == "board board S1 and board board S2"


@pytest.mark.parametrize(
    ("text", "shown"),
    [
        ("label S00001234", "label ****1234"),
        ("board PB123456/UUID-7890", "board ****7890"),
        ("order WO-17", "order WO-17"),
        ("PB123456", "****3456"),
        ("S1", "****"),
    ],
)
def test_masked_names_show_how_a_unit_is_known_and_no_serial(text: str, shown: str) -> None:
    assert words.masked(text) == shown


def test_a_masked_reason_names_no_serial() -> None:
    found = meeting("drive", "D9", "SERIAL-0001", "SERIAL-0002")
    turn = found.turns[0]
    told = type(turn)(before=turn.before, after=turn.after, reason="order 7 of label SERIAL-0001")
    moved = Meeting(kind="drive", value="D9", sightings=found.sightings, turns=(told,))
    assert words.tell_turns(moved, is_veiled=True) == ("order 7 of label ****0001",)
    assert words.tell_turns(moved, is_veiled=False) == ("order 7 of label SERIAL-0001",)


def wrong(rule: str, alike: str) -> WrongDemand:
    return WrongDemand(
        model="Fen 14",
        profile_digest="d",
        rule=rule,
        failed=9,
        total=9,
        stations=2,
        belief=1.0,
        expected="SERIAL-0001",
        alike=alike,
        alike_count=9,
    )


def test_a_value_that_names_the_unit_is_masked_and_no_other() -> None:
    assert words.hide_personal(wrong("system.serial", "SERIAL-0002")).alike == "****0002"
    assert words.hide_personal(wrong("system.serial", "")).alike == ""
    assert words.hide_personal(wrong("display.size", "1920 x 1200")).alike == "1920 x 1200"


def test_a_wrong_demand_is_told_with_what_to_do() -> None:
    assert "allow it in the profile" in words.tell_wrong(wrong("display.size", "a"))[-1]
    assert "read one good unit" in words.tell_wrong(wrong("display.size", ""))[-1]
    assert "99.9 %" in words.tell_wrong(wrong("display.size", ""))[0]


def test_a_station_is_told_with_its_shares_and_its_sight() -> None:
    odd = Odd(
        place="b",
        rule="r",
        count=5,
        total=50,
        other_count=0,
        other_total=900,
        ratio=None,
        chance=1e-5,
        adjusted=0.01,
    )
    assert words.tell_odd(odd) == (
        "5 of 50 orders (10.0 %), elsewhere 0.0 %; never elsewhere; with all tests counted 1 in"
        " 100 by chance"
    )
    sight = Sight(place="b", units=240, powers=((0.01, 3, 0.001), (0.01, 12, 0.74), (0.05, 12, 1)))
    assert words.tell_sight(sight, 4) == (
        "240 orders (60 a week) would show, at best, 3 times 1% in fewer than 1 of 100; 12 times"
        " 1% in 74 of 100; 12 times 5% in more than 99 of 100"
    )


def test_a_serial_that_begins_as_another_does_is_masked_whole() -> None:
    """Whatever order a set has: of the longer one no more is told than of any other."""
    found = meeting("drive", "D1", "S1", "SN12345678", "SN1234567")
    turn = replace(found.turns[0], reason="order 7 of label SN12345678 fitted a drive")
    told = words.tell_turns(replace(found, turns=(turn,)), is_veiled=True)
    assert told == ("order 7 of label ****5678 fitted a drive",)
