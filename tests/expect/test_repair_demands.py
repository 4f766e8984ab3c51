"""What a repair demands and asks: the practitioner's list, and what may never change."""

from collections.abc import Sequence

import pytest
from hypothesis import given
from hypothesis import strategies as st

from closeout.expect.merge import expectations_of
from closeout.expect.order_file import parse_work_order
from closeout.expect.profile import Profile, parse_profile
from closeout.expect.repair_demands import LAYOUT, demands_of_repairs, seconds_of
from closeout.expect.repair_map import load_repair_map
from closeout.expect.shipped import shipped_folder
from closeout.expect.vocabulary import REPAIRS
from closeout.expect.work_order import WorkOrder
from closeout.model.expectation import CONNECTION, Expectation

MAP = load_repair_map()
FIVE_MINUTES = 300
some_repairs = st.lists(st.sampled_from(REPAIRS), unique=True)

DISTURBED_BY_A_SWAP = {
    "bottom cover": {"connection.case-and-screws"},
    "pack": {"battery.presence", "connection.battery-plug"},
    "drive": {"drive.presence"},
    "wireless module": {"wifi.presence", "bluetooth.presence"},
    "antenna leads": {"connection.antenna-leads"},
    "fans": {"fan.presence", "connection.heat-sink"},
    "panel cable": {"display.presence", "connection.panel-cable"},
    "power-in cable": {"connection.power-in-cable"},
    "fingerprint ribbon": {"connection.fingerprint-ribbon"},
    "touchpad ribbon": {"touchpad.presence", "connection.touchpad-ribbon"},
    "keyboard ribbon": {"keyboard.presence", "connection.keyboard-ribbon"},
    "keyboard light ribbon": {"keyboard_light.presence"},
    "speaker of one side": {"connection.speaker-plugs"},
    "clock cell": {"clock.presence", "clock.running", "connection.clock-cell"},
    "port brackets on their pins": {"connection.ports-and-brackets"},
    "tape, adhesive, cable channels": {"connection.case-and-screws"},
    "heat sink moved over": {"connection.heat-sink"},
    "headphone jack in its cutout": {"connection.headphone-jack"},
    "cable pinched between board and cover": {"connection.case-and-screws"},
    "ribbon skewed or latch left open": {"connection.keyboard-ribbon"},
    "two screw lengths": {"connection.case-and-screws"},
    "narrow board bent": {"connection.ports-and-brackets"},
    "identity not programmed": {"system.serial", "system.uuid", "system.product"},
}
"""What a board swap disturbs, from a practitioner's work at the bench (common practice)."""


def rules_of(repairs: Sequence[str]) -> set[str]:
    return {each.rule for each in demands_of_repairs(MAP, repairs)}


@pytest.mark.parametrize("disturbed", DISTURBED_BY_A_SWAP)
def test_all_that_a_board_swap_disturbs_is_demanded_or_asked(disturbed: str) -> None:
    assert rules_of(["system-board"]) >= DISTURBED_BY_A_SWAP[disturbed]


def test_each_way_of_harm_is_told_where_it_is_asked() -> None:
    told = {
        "case-and-screws": ("a millimetre too long", "pinched between board and cover", "tape"),
        "keyboard-ribbon": ("skewed", "latch left open"),
        "ports-and-brackets": ("pins", "bent where it was held by its ends"),
        "headphone-jack": ("cutout",),
        "antenna-leads": ("swapped", "not clicked on"),
        "heat-sink": ("paste", "thermal pad"),
        "clock-cell": ("clock reset",),
        "identity-fields": ("not programmed",),
    }
    for name, words in told.items():
        connection = MAP.connections[name]
        said = f"{'; '.join(connection.fails)} {connection.place}"
        assert all(word in said for word in words), name


@pytest.mark.parametrize("repair", REPAIRS)
def test_the_questions_of_a_repair_fit_five_minutes_of_hands(repair: str) -> None:
    asked = list(demands_of_repairs(MAP, [repair], layout="DE"))
    assert 0 < seconds_of(MAP, asked) <= FIVE_MINUTES
    assert len({each.rule for each in asked if each.kind == CONNECTION}) == sum(
        each.kind == CONNECTION for each in asked
    )


@given(some_repairs, some_repairs)
def test_another_repair_takes_nothing_away(repairs: list[str], more: list[str]) -> None:
    assert rules_of(repairs) <= rules_of([*repairs, *more])


@given(some_repairs, st.randoms())
def test_the_order_of_repairs_does_not_matter(repairs: list[str], chance: object) -> None:
    shuffled = list(repairs)
    chance.shuffle(shuffled)  # type: ignore[attr-defined]
    assert list(demands_of_repairs(MAP, repairs)) == list(demands_of_repairs(MAP, shuffled))


def test_what_the_model_lacks_is_not_asked() -> None:
    lacking = list(demands_of_repairs(MAP, ["system-board"], lacks=["fingerprint-ribbon"]))
    assert "connection.fingerprint-ribbon" not in {each.rule for each in lacking}


def test_what_the_unit_came_without_is_not_asked() -> None:
    without = {
        each.rule for each in demands_of_repairs(MAP, ["system-board"], not_present=["battery"])
    }
    assert not {rule for rule in without if rule.startswith("battery")}
    assert "connection.battery-plug" not in without
    assert "connection.panel-cable" in without
    half = {
        each.rule for each in demands_of_repairs(MAP, ["wireless-module"], not_present=["wifi"])
    }
    assert "wifi.presence" not in half
    assert "bluetooth.presence" in half


def test_a_layout_is_asked_where_the_profile_names_one() -> None:
    def asked(layout: str) -> list[Expectation]:
        demands = demands_of_repairs(MAP, ["keyboard-top-cover"], layout=layout)
        return [each for each in demands if each.attribute == LAYOUT]

    assert asked("") == []
    (question,) = asked("DE")
    assert question.demand.wanted == "layout DE"  # type: ignore[union-attr]  # it is asked


def any_notebook() -> Profile:
    raw = (shipped_folder("profiles") / "any-notebook.toml").read_bytes()
    profile = parse_profile("any-notebook.toml", raw)
    assert isinstance(profile, Profile)
    return profile


def order(text: str) -> WorkOrder:
    found = parse_work_order("order.toml", f'work_order = 1\norder = "A-1"\n{text}'.encode())
    assert isinstance(found, WorkOrder)
    return found


def test_a_must_of_the_profile_covers_what_the_map_would_ask() -> None:
    profile = any_notebook()
    merged = expectations_of(profile, None, MAP, ["system-board"])
    (serial,) = [each for each in merged if each.rule == "system.serial"]
    assert serial.review_only is False
    displays = [each for each in merged if each.rule == "display.presence"]
    assert [(each.weight.value, each.review_only) for each in displays] == [
        ("must", True),
        ("should", False),
    ]


def test_an_order_that_lists_no_repair_disturbs_nothing() -> None:
    profile = any_notebook()
    assert expectations_of(profile, order(""), MAP, ()) == expectations_of(profile, order(""))
    gone = '[[not_present]]\nclass = "drive"\nreason = "the customer keeps it"\n'
    merged = expectations_of(profile, order(gone), MAP, ["drive"])
    assert [
        each.rule for each in merged if each.kind == "drive" and each.weight.value == "must"
    ] == []


def test_what_the_customer_declined_is_no_must_of_the_map_either() -> None:
    declined = '[[declined]]\nclass = "battery"\nwhat = "a pack"\nreason = "good enough"\n'
    merged = expectations_of(any_notebook(), order(declined), MAP, ["battery"])
    assert {each.weight.value for each in merged if each.kind == "battery"} == {"note"}


def test_proofs_are_void_only_where_the_repair_was() -> None:
    assert MAP.disturbs(["touchpad"], "touchpad.presence")
    assert MAP.disturbs(["touchpad"], "connection.touchpad-ribbon")
    assert not MAP.disturbs(["touchpad"], "connection.keyboard-ribbon")
    assert not MAP.disturbs(["touchpad"], "wifi.presence")
    assert not MAP.disturbs([], "touchpad.presence")
