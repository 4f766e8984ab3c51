"""A profile drafted out of a unit: the unit itself meets it, whatever it shows."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from closeout.cli.known_units import read_table
from closeout.expect.catalogue import load_catalogue
from closeout.expect.merge import expectations_of
from closeout.expect.profile import Profile, parse_profile
from closeout.expect.profile_text import write_profile
from closeout.judge.demands import judge_inventory
from closeout.judge.draft import (
    ALIKE,
    FILLED,
    OLDEST,
    PARTS,
    SOUND,
    ReadDemand,
    draft_demands,
    find_blank,
)
from closeout.model.attribute import Shape, attributes_of
from closeout.model.device import Device, Position
from closeout.model.expectation import Expectation
from closeout.model.finding import Outcome
from closeout.model.inventory import KINDS, Inventory
from closeout.model.reading import Absent
from strategies.devices import BLANK, DENIED, FILLER, device, inventory

CATALOGUE = load_catalogue()
DRAFTED = sorted({kind for kind, *_ in (*FILLED, *ALIKE, *SOUND, OLDEST)} | {*PARTS, "usb_device"})
TEXT = st.text(max_size=8) | st.sampled_from(["Fen", "a" * 300, "1.2", "\x7f", "[x]", "....." * 20])


def contents(shape: Shape) -> st.SearchStrategy[object]:
    states = st.sampled_from([BLANK, FILLER, DENIED, Absent(reason="none", sources=("x",))])
    match shape:
        case Shape.INTEGER:
            return st.integers(min_value=-3, max_value=10**11) | states
        case Shape.FLAG:
            return st.booleans() | states
        case Shape.TEXTS:
            return st.lists(TEXT, max_size=2).map(tuple) | states
        case _:
            return TEXT | states


@st.composite
def devices(draw: st.DrawFn) -> Device:
    kind = draw(st.sampled_from(DRAFTED))
    shown = {
        name: draw(contents(attribute.shape))
        for name, attribute in attributes_of(KINDS[kind]).items()
        if draw(st.booleans())
    }
    position = draw(st.sampled_from(list(Position)))
    place = f"{kind}-{draw(st.integers(0, 3))}"
    return device(kind, place, position, **shown)


def drafted(seen: Inventory, read: ReadDemand = read_table) -> Profile | None:
    demands = list(draft_demands(seen, CATALOGUE, read))
    if not demands:
        return None
    head = {"profile": 1, "id": "a", "revision": "1", "title": "A"}
    text = write_profile({**head, "norm": {"blank": list(find_blank(seen))}, "demand": demands})
    profile = parse_profile("a", text.encode())
    assert isinstance(profile, Profile), profile.show()
    return profile


@given(st.lists(devices(), max_size=8))
def test_a_unit_meets_what_is_drafted_from_it(drawn: list[Device]) -> None:
    seen = inventory(*drawn)
    if (profile := drafted(seen)) is not None:
        findings = judge_inventory(seen, expectations_of(profile, None), CATALOGUE)
        assert findings
        assert {finding.outcome for finding in findings} == {Outcome.PASS}


SYSTEM = device(
    "system", manufacturer="Norwel", product="Slate", serial="NW1", family=BLANK, uuid=FILLER
)


def test_what_a_unit_shows_becomes_a_demand() -> None:
    pack = {"present": True, "energy_full_design_uwh": 50_000_000, "cycle_count": 4}
    seen = inventory(
        SYSTEM,
        device("battery", "b0", serial="S1", **pack),
        device("battery", "b1", serial="S2", **pack),
        device("usb_device", ids="fe21:0007"),
        device("usb_device", "outside", Position.EXTERNAL, ids="fe99:0001"),
        device("display", "d0", connected=True, native_mode="1x1", edid_valid=True),
        device("display", "d1", connected=True, native_mode="2x2", edid_valid=False),
        device("keyboard", position=Position.EXTERNAL, name="loud"),
        device("bios", version="1.18"),
    )
    profile = drafted(seen)
    assert profile is not None
    lines = {(one.rule, str(one.demand)) for one in profile.expectations}
    rules = {rule for rule, _ in lines}
    assert {"system.manufacturer", "battery.energy_full_design_uwh", "bios.version"} <= rules
    assert {"system.serial", "usb_device.presence", "display.native_mode"} <= rules
    assert "display.edid_valid" not in rules, "its devices differ, and a flag has no list"
    assert "battery.cycle_count" not in rules, "that differs between units"
    assert "keyboard.presence" not in rules, "an external one is not the model's"
    text = repr(profile.expectations)
    assert "NW1" not in text, "a serial number is never demanded by value"
    assert "fe99" not in text
    assert "at_least=2" in text, "two packs"
    assert profile.blank == (("system", "family"), ("system", "uuid"))


def without_slate(table: dict[str, object]) -> tuple[Expectation, ...]:
    return () if "Slate" in repr(table) else read_table(table)


def test_what_may_not_be_said_is_not_demanded() -> None:
    profile = drafted(inventory(SYSTEM), without_slate)
    assert profile is not None
    assert {one.rule for one in profile.expectations} == {"system.manufacturer", "system.serial"}


@pytest.mark.parametrize("position", [Position.INTERNAL, Position.EXTERNAL])
def test_nothing_shown_is_nothing_drafted(position: Position) -> None:
    assert drafted(inventory()) is None
    assert drafted(inventory(device("wifi", position=position))) is None
