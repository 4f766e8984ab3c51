"""Input devices without a driver, without an answer, or outside of the unit."""

import pytest

from closeout.judge.demands import judge_inventory
from closeout.judge.input_coverage import find_silent_inputs, find_unserved_inputs
from closeout.model.device import Device, Position
from closeout.model.expectation import Equals, Expectation
from closeout.model.finding import Finding, Outcome
from strategies.demands import PRESENT, expect, whole_catalogue
from strategies.devices import DENIED, NOT_DRAWN, device, inventory

CATALOGUE = whole_catalogue()
POINTERS = ("touchpad", "touchscreen", "pen")


def line(position: Position = Position.INTERNAL, **told: object) -> Device:
    """An I2C device that firmware names, without a driver unless `told` has one."""
    facts = {"driver": NOT_DRAWN, "silent": False, "purposes": POINTERS} | told
    return device("input_bus_device", place="bus/i2c-FE310214:00", position=position, **facts)


def judge(expectation: Expectation, *devices: Device) -> Finding:
    (finding,) = judge_inventory(inventory(*devices), [expectation], CATALOGUE)
    return finding


@pytest.mark.parametrize("kind", ["touchpad", "touchscreen"])
def test_without_a_driver_it_is_uncovered_and_not_missing(kind: str) -> None:
    finding = judge(expect(kind, "", PRESENT), line())
    assert finding.outcome is Outcome.UNCOVERED
    assert "i2c-FE310214:00 without a driver" in finding.found


def test_what_does_not_answer_its_driver_is_missing_and_named() -> None:
    finding = judge(expect("touchpad", "", PRESENT), line(silent=True))
    assert finding.outcome is Outcome.FAIL
    assert finding.found == (
        "none; i2c-FE310214:00 is known to the firmware and does not answer its driver"
    )


@pytest.mark.parametrize(
    "other",
    [
        line(driver="i2c_hid_acpi"),
        line(driver=DENIED),
        line(purposes=("keyboard",)),
        line(purposes=DENIED),
        line(position=Position.EXTERNAL),
    ],
)
def test_what_says_nothing_of_a_missing_touchpad(other: Device) -> None:
    finding = judge(expect("touchpad", "", PRESENT), other)
    assert (finding.outcome, finding.found) == (Outcome.FAIL, "none")


def test_whether_it_answers_may_be_unknown() -> None:
    """Nobody then says that the part is missing."""
    unit = inventory(line(silent=DENIED))
    assert len(find_unserved_inputs(unit, "touchpad")) == 1
    assert find_silent_inputs(unit, "touchpad") == ()


@pytest.mark.parametrize(
    ("position", "expected"),
    [
        (Position.INTERNAL, Outcome.PASS),
        (Position.EXTERNAL, Outcome.FAIL),
        (Position.UNKNOWN, Outcome.UNREAD),
    ],
)
def test_keyboard_that_may_be_outside_never_passes_for_the_one_inside(
    position: Position, expected: Outcome
) -> None:
    keyboard = device("keyboard", position=position, name="Drawn keys")
    assert judge(expect("keyboard", "", PRESENT), keyboard).outcome is expected


def test_of_other_kinds_an_unknown_position_is_taken_for_inside() -> None:
    card = device("wifi", position=Position.UNKNOWN, driver="drawn")
    assert judge(expect("wifi", "", PRESENT), card).outcome is Outcome.PASS


def test_keyboard_of_unknown_position_counts_where_external_ones_do() -> None:
    keyboard = device("keyboard", position=Position.UNKNOWN, name="Drawn keys")
    demand = expect("keyboard", "", PRESENT, external_counts=True)
    assert judge(demand, keyboard).outcome is Outcome.PASS


def test_touchpad_on_ps2_fails_where_the_model_has_it_on_i2c() -> None:
    touchpad = device("touchpad", bus="i8042", fallback=True)
    assert judge(expect("touchpad", "bus", Equals(value="i2c")), touchpad).outcome is Outcome.FAIL
