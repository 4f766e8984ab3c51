"""Demands on what a unit measures, and on packs that are not its own."""

import pytest

from closeout.judge.demands import judge_inventory
from closeout.model.device import Position
from closeout.model.expectation import Empty, Expectation, Present, Within
from closeout.model.finding import Finding, Outcome
from closeout.model.inventory import Inventory
from closeout.model.reading import Absent, Unreadable
from strategies.demands import PRESENT, expect, where, whole_catalogue
from strategies.devices import DENIED, device, inventory

CATALOGUE = whole_catalogue()
NO_RIGHT = Unreadable(error="EACCES", advice="run as root", sources=("sys/class/hwmon",))
NO_DUMMY = "27.8 °C is a known dummy"
NO_SENSOR = Absent(reason="127000 is read: no sensor is connected", sources=("temp1_input",))


def judged(unit: Inventory, expectation: Expectation) -> Finding:
    (finding,) = judge_inventory(unit, (expectation,), CATALOGUE)
    return finding


@pytest.mark.parametrize(
    ("doubts", "outcome", "found"),
    [
        ((), Outcome.PASS, "none"),
        ((NO_DUMMY,), Outcome.REVIEW, NO_DUMMY),
        (NO_SENSOR, Outcome.UNREAD, "absent: 127000 is read: no sensor is connected"),
        (DENIED, Outcome.UNREAD, "could not be read (EACCES): run as root"),
    ],
)
def test_a_doubt_asks_a_person_and_says_why(doubts: object, outcome: Outcome, found: str) -> None:
    unit = inventory(device("temperature", doubts=doubts))
    finding = judged(unit, expect("temperature", "doubts", Empty(), review_only=True))
    assert (finding.outcome, finding.found) == (outcome, found)


@pytest.mark.parametrize(
    ("kind", "attribute", "value", "demand", "outcome", "found"),
    [
        ("fan", "speed_rpm", 0, Within(low=1, high=None), Outcome.FAIL, "0 rpm"),
        ("fan", "speed_rpm", 2215, Within(low=1, high=None), Outcome.PASS, "2215 rpm"),
        (
            "temperature",
            "now_millicelsius",
            41_850,
            Within(low=None, high=90_000),
            Outcome.PASS,
            "41.85 °C (41850 m°C)",
        ),
        (
            "accelerometer",
            "magnitude_mm_s2",
            11_000,
            Within(low=9_300, high=10_300),
            Outcome.FAIL,
            "11 m/s²",
        ),
        (
            "light_sensor",
            "illuminance_millilux",
            0,
            Within(low=1, high=None),
            Outcome.FAIL,
            "0 lx",
        ),
        (
            "hinge_angle",
            "angle_millidegrees",
            90_000,
            Within(low=80_000, high=100_000),
            Outcome.PASS,
            "90 °",
        ),
    ],
)
def test_numbers_are_compared_and_shown_in_units_that_people_read(
    kind: str, attribute: str, value: int, demand: Within, outcome: Outcome, found: str
) -> None:
    unit = inventory(device(kind, **{attribute: value}))
    finding = judged(unit, expect(kind, attribute, demand))
    assert (finding.outcome, finding.found) == (outcome, found)


@pytest.mark.parametrize(
    "kind", ["temperature", "fan", "accelerometer", "light_sensor", "proximity_sensor"]
)
def test_a_sensor_that_is_not_there_is_missed_and_one_outside_does_not_count(kind: str) -> None:
    demand = expect(kind, "", PRESENT)
    told = {"chip" if kind in {"temperature", "fan"} else "sensor": "drawn"}
    outside = device(kind, position=Position.EXTERNAL, **told)
    assert judged(inventory(), demand).outcome is Outcome.FAIL
    assert judged(inventory(outside), demand).outcome is Outcome.FAIL
    assert judged(inventory(device(kind, **told)), demand).outcome is Outcome.PASS
    assert judged(inventory(**{kind: NO_RIGHT}), demand).outcome is Outcome.UNREAD


def test_a_sensor_of_its_own_name_is_found_among_others() -> None:
    unit = inventory(
        device("temperature", "a", sensor="Package id 0", now_millicelsius=47_000),
        device("temperature", "b", sensor="temp1", now_millicelsius=99_000),
    )
    demand = expect(
        "temperature",
        "now_millicelsius",
        Within(low=None, high=90_000),
        where=where(sensor="Package id 0"),
    )
    finding = judged(unit, demand)
    assert (finding.label, finding.outcome) == ("a", Outcome.PASS)


def test_the_pack_of_a_mouse_meets_no_demand_for_a_battery() -> None:
    unit = inventory(device("peripheral_battery", position=Position.EXTERNAL, present=True))
    assert judged(unit, expect("battery", "", PRESENT)).outcome is Outcome.FAIL
    dock = expect("peripheral_battery", "", PRESENT, external_counts=True)
    assert judged(unit, dock).outcome is Outcome.PASS


def test_a_second_pack_is_counted_and_an_empty_bay_is_not() -> None:
    unit = inventory(
        device("battery", "BAT0", present=True), device("battery", "BAT1", present=True)
    )
    bay = inventory(
        device("battery", "BAT0", present=True), device("battery", "BAT1", present=False)
    )
    both = expect("battery", "", Present(at_least=2, at_most=2))
    assert judged(unit, both).outcome is Outcome.PASS
    assert judged(bay, both).outcome is Outcome.FAIL
