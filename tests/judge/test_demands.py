"""Demands against drawn inventories: states kept apart, nothing passes by silence."""

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from closeout.judge.comparison import match_reading
from closeout.judge.demands import judge_inventory
from closeout.model.device import Position
from closeout.model.expectation import (
    Empty,
    Equals,
    Expectation,
    Filled,
    MatchesOrder,
    NewerOrEqual,
    OneOf,
    Pattern,
    Present,
    Weight,
    Within,
)
from closeout.model.finding import Finding, Outcome
from closeout.model.inventory import Inventory
from closeout.model.reading import Absent, Unreadable, Value
from strategies.demands import PRESENT, expect, where, whole_catalogue
from strategies.devices import BLANK, DENIED, FILLER, NOT_DRAWN, device, inventory

CATALOGUE = whole_catalogue()
NO_CLASS = Absent(reason="the kernel has no such file", sources=("sys/class/power_supply",))
NO_RIGHT = Unreadable(error="EACCES", advice="run as root", sources=("sys/class/power_supply",))


def judge(unit: Inventory, *expectations: Expectation) -> tuple[Finding, ...]:
    return judge_inventory(unit, expectations, CATALOGUE)


def outcome(unit: Inventory, expectation: Expectation) -> Outcome:
    (finding,) = judge(unit, expectation)
    return finding.outcome


# state of the reading, demand, outcome: a value that meets it is the only way to pass
STATES = [
    (BLANK, Filled(), Outcome.FAIL),
    (FILLER, Filled(), Outcome.FAIL),
    (NOT_DRAWN, Filled(), Outcome.FAIL),
    (DENIED, Filled(), Outcome.UNREAD),
    ("NL4410Z", Filled(), Outcome.PASS),
    (BLANK, Equals(value="NL4410Z"), Outcome.FAIL),
    (FILLER, Equals(value="Default string"), Outcome.FAIL),
    (NOT_DRAWN, Equals(value="NL4410Z"), Outcome.UNREAD),
    (DENIED, Equals(value="NL4410Z"), Outcome.UNREAD),
    ("NL4410Z", Equals(value="NL4410Z"), Outcome.PASS),
    ("NL4410Y", Equals(value="NL4410Z"), Outcome.FAIL),
    ("NL4410Z", OneOf(values=("A", "NL4410Z")), Outcome.PASS),
    ("NL4410Z", OneOf(values=("A", "B")), Outcome.FAIL),
    ("NL4410Z", Pattern(pattern="NL[0-9]{4}[A-Z]"), Outcome.PASS),
    ("xNL4410Z", Pattern(pattern="NL[0-9]{4}[A-Z]"), Outcome.FAIL),
    ("NL4410Z", MatchesOrder(value="NL4410Z"), Outcome.PASS),
    ("NL4410Z", MatchesOrder(value="NL4410Y"), Outcome.FAIL),
    ("NL4410Z", MatchesOrder(value=None), Outcome.REVIEW),
    (DENIED, MatchesOrder(value=None), Outcome.UNREAD),
]


@pytest.mark.parametrize(("reading", "demand", "expected"), STATES)
def test_each_state_against_each_demand(reading: object, demand: object, expected: Outcome) -> None:
    unit = inventory(device("system", serial=reading))
    assert outcome(unit, expect("system", "serial", demand)) is expected


@pytest.mark.parametrize(
    ("found", "demand", "expected"),
    [
        (60, Within(low=60, high=None), Outcome.PASS),
        (59, Within(low=60, high=None), Outcome.FAIL),
        (103, Within(low=None, high=100), Outcome.FAIL),
        (100, Within(low=None, high=100), Outcome.PASS),
        (84, Within(low=80, high=90), Outcome.PASS),
        (84, Equals(value=84), Outcome.PASS),
        (True, Equals(value=1), Outcome.FAIL),
    ],
)
def test_numbers(found: object, demand: object, expected: Outcome) -> None:
    unit = inventory(device("battery", health_percent=found))
    assert outcome(unit, expect("battery", "health_percent", demand)) is expected


@pytest.mark.parametrize(
    ("found", "wanted", "expected"),
    [
        ("1.17", "1.9", Outcome.PASS),
        ("1.9", "1.17", Outcome.FAIL),
        ("1.9", "1.9", Outcome.PASS),
        ("N1.17", "R1.9", Outcome.REVIEW),
    ],
)
def test_firmware_versions_go_by_their_numbers(found: str, wanted: str, expected: Outcome) -> None:
    unit = inventory(device("bios", version=found))
    assert outcome(unit, expect("bios", "version", NewerOrEqual(version=wanted))) is expected


def test_uuid_in_either_case_is_the_same_and_in_the_other_byte_order_is_named() -> None:
    """Byte order example of DMTF DSP0134 section 7.2.1."""
    unit = inventory(device("system", uuid="00112233-4455-6677-8899-aabbccddeeff"))
    same = expect("system", "uuid", Equals(value="00112233-4455-6677-8899-AABBCCDDEEFF"))
    other = expect("system", "uuid", Equals(value="33221100-5544-7766-8899-aabbccddeeff"))
    assert outcome(unit, same) is Outcome.PASS
    (finding,) = judge(unit, other)
    assert finding.outcome is Outcome.FAIL
    assert "other byte order" in finding.found


def test_presence_is_never_compared_with_a_reading() -> None:
    with pytest.raises(TypeError):
        match_reading(Value(value=1, sources=()), PRESENT)


def test_a_text_as_long_as_a_uuid_is_compared_as_text() -> None:
    unit = inventory(device("system", uuid="x" * 36))
    assert outcome(unit, expect("system", "uuid", Equals(value="x" * 36))) is Outcome.PASS
    assert outcome(unit, expect("system", "uuid", Equals(value="y" * 36))) is Outcome.FAIL


def test_a_serial_that_differs_only_in_case_says_so() -> None:
    unit = inventory(device("system", serial="nl4410z"))
    (finding,) = judge(unit, expect("system", "serial", Equals(value="NL4410Z")))
    assert finding.outcome is Outcome.FAIL
    assert "only the case differs" in finding.found


def test_texts_meet_a_demand_when_one_of_them_does() -> None:
    unit = inventory(device("display", edid_names=("PANEL", "P140")))
    assert outcome(unit, expect("display", "edid_names", Equals(value="P140"))) is Outcome.PASS
    assert outcome(unit, expect("display", "edid_names", Equals(value="P15"))) is Outcome.FAIL


@pytest.mark.parametrize(
    ("found", "expected"),
    [
        ((), Outcome.PASS),
        (("system.serial: table 'A', kernel 'B'",), Outcome.FAIL),
        (NOT_DRAWN, Outcome.UNREAD),
        (DENIED, Outcome.UNREAD),
    ],
)
def test_a_list_that_should_be_empty(found: object, expected: Outcome) -> None:
    unit = inventory(device("identity_views", disagreements=found))
    assert outcome(unit, expect("identity_views", "disagreements", Empty())) is expected


@pytest.mark.parametrize("listing", [NO_CLASS, NO_RIGHT])
@pytest.mark.parametrize(
    ("attribute", "demand"),
    [
        ("", PRESENT),
        ("", Present(at_least=0, at_most=0)),
        ("health_percent", Within(low=60, high=None)),
        ("serial", Filled()),
    ],
)
def test_a_kind_that_could_not_be_listed_is_unread_never_missing(
    listing: Absent | Unreadable, attribute: str, demand: object
) -> None:
    unit = inventory(battery=listing)
    (finding,) = judge(unit, expect("battery", attribute, demand))
    assert finding.outcome is Outcome.UNREAD
    assert finding.evidence == ("sys/class/power_supply",)


def test_presence_counts() -> None:
    two = inventory(
        device("battery", "bat/0", present=True), device("battery", "bat/1", present=True)
    )
    for least, most, expected in [
        (1, None, Outcome.PASS),
        (2, 2, Outcome.PASS),
        (3, None, Outcome.FAIL),
        (0, 1, Outcome.FAIL),
    ]:
        demand = Present(at_least=least, at_most=most)
        assert outcome(two, expect("battery", "", demand)) is expected
    assert outcome(inventory(), expect("battery", "", PRESENT)) is Outcome.FAIL


def test_a_device_that_tells_nothing_may_be_none() -> None:
    """It went away after it was listed, or nothing of it could be read."""
    gone = inventory(device("drive", bus="nvme"), device("backlight", "b"))
    for kind in ("drive", "backlight"):
        assert outcome(gone, expect(kind, "", PRESENT)) is Outcome.UNREAD
        assert outcome(gone, expect(kind, "", Present(at_least=0, at_most=0))) is Outcome.UNREAD
    here = inventory(device("drive", bus="nvme", state="live"))
    assert outcome(here, expect("drive", "", PRESENT)) is Outcome.PASS


def test_a_device_whose_position_could_not_be_read_may_be_outside() -> None:
    seen = replace(device("wifi", driver="drawn"), position=Position.UNREAD)
    wanted = expect("wifi", "", PRESENT)
    assert outcome(inventory(seen), wanted) is Outcome.UNREAD
    assert outcome(inventory(seen), replace(wanted, external_counts=True)) is Outcome.PASS


@pytest.mark.parametrize(
    ("kind", "occupancy"),
    [("battery", "present"), ("memory_module", "fitted"), ("display", "connected")],
)
def test_an_empty_bay_is_no_device_and_an_unreadable_one_is_not_missing(
    kind: str, occupancy: str
) -> None:
    empty = inventory(device(kind, **{occupancy: False}))
    assert outcome(empty, expect(kind, "", PRESENT)) is Outcome.FAIL
    untold = inventory(device(kind, **{occupancy: DENIED}))
    assert outcome(untold, expect(kind, "", PRESENT)) is Outcome.UNREAD
    some = inventory(
        device(kind, "a", **{occupancy: True}), device(kind, "b", **{occupancy: DENIED})
    )
    assert outcome(some, expect(kind, "", PRESENT)) is Outcome.PASS
    assert outcome(some, expect(kind, "", Present(at_least=1, at_most=1))) is Outcome.UNREAD


def test_what_is_plugged_in_from_outside_never_satisfies_an_inside_demand() -> None:
    unit = inventory(device("drive", position=Position.EXTERNAL, model="Stick"))
    assert outcome(unit, expect("drive", "", PRESENT)) is Outcome.FAIL
    assert outcome(unit, expect("drive", "", PRESENT, external_counts=True)) is Outcome.PASS
    assert outcome(unit, expect("drive", "model", Filled())) is Outcome.UNREAD


def test_conditions_choose_the_devices() -> None:
    unit = inventory(
        device("memory_module", "slot/0", locator="DIMM A", size_bytes=8 << 30, fitted=True),
        device("memory_module", "slot/1", locator="DIMM B", fitted=False),
    )
    in_a = where(locator="DIMM A")
    in_b = where(locator="DIMM B")
    assert outcome(unit, expect("memory_module", "", PRESENT, where=in_a)) is Outcome.PASS
    (missing,) = judge(unit, expect("memory_module", "", PRESENT, where=in_b))
    assert missing.outcome is Outcome.FAIL
    assert missing.subject == "memory_module with locator DIMM B"
    sized = expect("memory_module", "size_bytes", Equals(value=16 << 30), where=in_a)
    (wrong,) = judge(unit, sized)
    assert (wrong.outcome, wrong.subject) == (Outcome.FAIL, "slot/0")


@pytest.mark.parametrize("reading", [BLANK, FILLER])
def test_a_blank_condition_is_read_and_does_not_hold(reading: object) -> None:
    unit = inventory(device("memory_module", locator=reading, fitted=True))
    demand = expect("memory_module", "", PRESENT, where=where(locator="DIMM A"))
    assert outcome(unit, demand) is Outcome.FAIL


def test_a_condition_that_could_not_be_read_leaves_it_open() -> None:
    unit = inventory(device("memory_module", locator=DENIED, fitted=True))
    demand = expect("memory_module", "", PRESENT, where=where(locator="DIMM A"))
    assert outcome(unit, demand) is Outcome.UNREAD


def test_a_card_without_a_driver_is_uncovered_and_not_missing() -> None:
    """PCI class 0280h: other network controller; USB e0/01/01: Bluetooth (USB-IF class codes)."""
    card = device("pci_device", "pci/0000:02:00.0", class_code="028000")
    unit = inventory(card)
    (finding,) = judge(unit, expect("wifi", "", PRESENT))
    assert finding.outcome is Outcome.UNCOVERED
    assert "0000:02:00.0" in finding.found
    served = inventory(device("pci_device", class_code="028000", driver="nlwifi"))
    assert outcome(served, expect("wifi", "", PRESENT)) is Outcome.FAIL
    stick = device("usb_device", "usb/1-3", interface_classes=("e0/01/01",), drivers=())
    assert outcome(inventory(stick), expect("bluetooth", "", PRESENT)) is Outcome.UNCOVERED
    bound = device("usb_device", interface_classes=("e0/01/01",), drivers=("btusb",))
    assert outcome(inventory(bound), expect("bluetooth", "", PRESENT)) is Outcome.FAIL


def test_a_part_that_the_profile_names_by_its_bus_ids_is_uncovered_or_missing() -> None:
    """The three cases: the bus shows it without a driver, with one, or not at all."""
    wanted = expect("wwan", "", PRESENT, bus_ids=("1af9:0308",))
    alone = device("pci_device", "pci/0000:08:00.0", ids="1af9:0308", class_code="ff0000")
    (open_one,) = judge(inventory(alone), wanted)
    assert open_one.outcome is Outcome.UNCOVERED
    assert open_one.found == "none; the bus shows 0000:08:00.0 without a driver"
    served = device("pci_device", "pci/0000:08:00.0", ids="1af9:0308", driver="nlmodem")
    (idle,) = judge(inventory(served), wanted)
    assert idle.outcome is Outcome.FAIL
    assert "whose driver makes none of it" in idle.found
    (missing,) = judge(inventory(), wanted)
    assert missing.outcome is Outcome.FAIL
    assert missing.found == "none; no bus shows 1af9:0308"
    (unlisted,) = judge(inventory(usb_device=NO_RIGHT), wanted)
    assert unlisted.found == "none"
    (there,) = judge(inventory(alone, device("wwan", driver="nlmodem")), wanted)
    assert there.outcome is Outcome.PASS


def test_a_shorted_socket_of_the_unit_fails_and_that_of_a_hub_outside_does_not() -> None:
    demand = expect("usb_port", "over_current_count", Within(low=None, high=0), Weight.SHOULD)
    short = device("usb_port", "usb/usb1-port3", over_current_count=2)
    sound = device("usb_port", "usb/usb1-port2", over_current_count=0)
    hub = device("usb_port", "usb/1-1-port1", position=Position.EXTERNAL, over_current_count=9)
    outcomes = {
        finding.label: finding.outcome for finding in judge(inventory(short, sound, hub), demand)
    }
    assert outcomes == {"usb1-port3": Outcome.FAIL, "usb1-port2": Outcome.PASS}


def test_a_dock_never_stands_for_the_built_in_port() -> None:
    dock = device("wired_network", "net/enx", position=Position.EXTERNAL)
    assert outcome(inventory(dock), expect("wired_network", "", PRESENT)) is Outcome.FAIL


def test_a_tpm_that_is_announced_and_not_served_is_uncovered_and_not_missing() -> None:
    announced = device("tpm", "tables/TPM2", present=False, announced=True)
    (finding,) = judge(inventory(announced), expect("tpm", "", PRESENT))
    assert finding.outcome is Outcome.UNCOVERED
    assert "TPM2" in finding.found
    assert outcome(inventory(), expect("tpm", "", PRESENT)) is Outcome.FAIL
    served = device("tpm", "acpi/tpm0", present=True, announced=True)
    assert outcome(inventory(served), expect("tpm", "", PRESENT)) is Outcome.PASS
    unsure = device("tpm", "tables/TPM2", present=False, announced=DENIED)
    assert outcome(inventory(unsure), expect("tpm", "", PRESENT)) is Outcome.FAIL


def test_registers_of_a_tpm_without_a_driver_are_not_judged() -> None:
    announced = device("tpm", "tables/TPM2", present=False, announced=True)
    demand = expect("tpm", "pcr0_measured", Equals(value=True))
    assert outcome(inventory(announced), demand) is Outcome.UNCOVERED


def test_a_counter_that_a_processor_does_not_have_is_unread_and_no_pass() -> None:
    demand = expect("processor", "package_throttle_count", Within(low=None, high=0))
    assert outcome(inventory(device("processor")), demand) is Outcome.UNREAD
    counted = device("processor", package_throttle_count=3)
    assert outcome(inventory(counted), demand) is Outcome.FAIL
    cool = device("processor", package_throttle_count=0)
    assert outcome(inventory(cool), demand) is Outcome.PASS


def test_a_mismatch_that_only_asks_a_person_is_a_review() -> None:
    unit = inventory(device("chassis", chassis_type="Desktop"))
    demand = expect("chassis", "chassis_type", Equals(value="Notebook"), review_only=True)
    assert outcome(unit, demand) is Outcome.REVIEW
    unread = inventory(device("chassis", chassis_type=DENIED))
    assert outcome(unread, demand) is Outcome.UNREAD


ANY_EXPECTATION = st.sampled_from(
    [
        expect("system", "serial", Filled()),
        expect("system", "uuid", Filled(), Weight.SHOULD),
        expect("battery", "", PRESENT),
        expect("battery", "health_percent", Within(low=60, high=None), Weight.NOTE),
        expect("drive", "", PRESENT, where=where(serial="S1")),
    ]
)
ANY_DEVICE = st.sampled_from(
    [
        device("system", serial="NL1", uuid=BLANK),
        device("battery", "bat/0", health_percent=84),
        device("battery", "bat/1", health_percent=40, present=True),
        device("drive", "nvme/0", serial="S1"),
        device("drive", "nvme/1", serial=DENIED),
    ]
)


@given(st.lists(ANY_EXPECTATION, unique=True), st.lists(ANY_DEVICE, unique=True), st.randoms())
def test_the_order_of_demands_and_devices_never_matters(
    expectations: list[Expectation], devices: list[object], random: object
) -> None:
    mixed, moved = list(expectations), list(devices)
    random.shuffle(mixed)  # type: ignore[attr-defined]
    random.shuffle(moved)  # type: ignore[attr-defined]
    one = judge(inventory(*devices), *expectations)
    other = judge(inventory(*moved), *mixed)
    assert [(f.rule, f.subject, f.outcome) for f in one] == [
        (f.rule, f.subject, f.outcome) for f in other
    ]
    assert len(one) >= len(expectations)
