"""Options: by the order, else by the SKU, else by what is shown, and then a person is asked."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from closeout.judge.options import Settled, Told, settle_options
from closeout.model.expectation import Equals, Expectation, Filled, Weight
from closeout.model.finding import Outcome
from closeout.model.inventory import Inventory
from closeout.model.option import Choice, Option
from strategies.demands import PRESENT, expect, where, whole_catalogue
from strategies.devices import BLANK, device, inventory

CATALOGUE = whole_catalogue()
READER = expect(
    "usb_device", "", PRESENT, where=where(ids="fe21:0007"), origin="profile a/b, option x: with"
)
FINGERPRINT = Option(
    name="fingerprint",
    choices=(
        Choice(name="without", sku=".*-N", expectations=()),
        Choice(name="with", sku=".*-F", expectations=(READER,)),
    ),
)


def mode(text: str, weight: Weight = Weight.MUST) -> Expectation:
    return expect("display", "native_mode", Equals(value=text), weight)


PANEL = Option(
    name="panel",
    choices=(
        Choice(name="full-hd", sku="", expectations=(mode("1920x1080"),)),
        Choice(name="high", sku="", expectations=(mode("2880x1800"),)),
    ),
)
NOTHING_TOLD = Told(choices={})
WITH_READER = device("usb_device", ids="fe21:0007")


def settle(seen: Inventory, *options: Option, told: Told = NOTHING_TOLD) -> Settled:
    return settle_options(seen, (), options, told, CATALOGUE)


@pytest.mark.parametrize("seen", [inventory(), inventory(WITH_READER)])
@pytest.mark.parametrize(("choice", "demanded"), [("with", (READER,)), ("without", ())])
def test_order_decides_whatever_the_unit_shows(
    seen: Inventory, choice: str, demanded: tuple[Expectation, ...]
) -> None:
    told = Told(choices={"fingerprint": choice}, sku="X-N")
    settled = settle(seen, FINGERPRINT, told=told)
    assert settled.expectations == demanded
    assert settled.findings == ()
    assert settled.catalogue is CATALOGUE


def test_sku_of_the_order_goes_before_that_of_the_unit() -> None:
    seen = inventory(device("system", sku="X-N"))
    assert settle(seen, FINGERPRINT).expectations == ()
    assert settle(seen, FINGERPRINT).findings == ()
    told = Told(choices={}, sku="X-F")
    assert settle(seen, FINGERPRINT, told=told).expectations == (READER,)


def test_a_reader_that_was_left_out_is_asked_for() -> None:
    for sku in ("X", BLANK):
        settled = settle(inventory(device("system", sku=sku)), FINGERPRINT)
        assert settled.expectations == ()
        (finding,) = settled.findings
        assert finding.rule == "option.fingerprint"
        assert finding.outcome is Outcome.REVIEW
        assert finding.weight is Weight.MUST
        assert finding.label == "Which form: fingerprint"
        assert finding.answerable
        assert finding.answer is None
        assert "looks like without, of which nothing is demanded" in finding.found
        entry = settled.catalogue.entries["option.fingerprint"]
        assert entry.answerable
        assert "looks like without. Is that right?" in entry.question


def test_what_the_unit_shows_is_still_asked() -> None:
    settled = settle(inventory(WITH_READER), FINGERPRINT)
    assert settled.expectations == (READER,), "among equals the one that demands most"
    (finding,) = settled.findings
    assert finding.found == "the unit looks like with: 1 of its 1 demands are met"
    assert finding.expected == "what the order says (it does not say), one of with, without"
    assert finding.origin == "profile a/b"
    assert finding.evidence


def test_least_disagreement_wins_and_none_fits_is_the_nearest() -> None:
    high = inventory(device("display", connected=True, native_mode="2880x1800"))
    assert settle(high, PANEL).expectations == (mode("2880x1800"),)
    other = inventory(device("display", connected=True, native_mode="1366x768"))
    settled = settle(other, PANEL)
    assert settled.expectations == (mode("1920x1080"),), "by name, where none is nearer"
    assert settled.findings[0].found == "the unit looks like full-hd: 0 of its 1 demands are met"


def test_skus_that_fit_two_choices_leave_it_to_what_is_shown() -> None:
    def panel(name: str, sku: str, resolution: str) -> Choice:
        return Choice(name=name, sku=sku, expectations=(mode(resolution),))

    option = Option(
        name="panel",
        choices=(
            panel("a", "P.*", "1x1"),
            panel("b", "P.*", "2x2"),
            panel("c", "Q.*", "3x3"),
        ),
    )
    seen = inventory(
        device("system", sku="P1"), device("display", connected=True, native_mode="3x3")
    )
    settled = settle(seen, option)
    assert settled.expectations == (mode("1x1"),), "c is ruled out by the SKU"
    assert len(settled.findings) == 1


def test_choice_stands_in_place_of_the_profiles_demand() -> None:
    seen = inventory(device("display", connected=True, native_mode="2880x1800"))
    filled = expect("display", "native_mode", Filled())
    other = expect("display", "edid_valid", Equals(value=True))
    settled = settle_options(seen, (filled, other), (PANEL,), NOTHING_TOLD, CATALOGUE)
    assert settled.expectations == (other, mode("2880x1800"))


def test_weight_is_the_heaviest_in_which_choices_differ() -> None:
    shared = expect("wifi", "", PRESENT)

    def option(*extra: Expectation) -> Option:
        plain = Choice(name="plain", sku="", expectations=(shared,))
        more = Choice(name="more", sku="", expectations=(shared, *extra))
        return Option(name="o", choices=(plain, more))

    def weight(*extra: Expectation) -> Weight:
        return settle(inventory(), option(*extra)).findings[0].weight

    assert weight() is Weight.NOTE
    assert weight(mode("1x1", Weight.SHOULD)) is Weight.SHOULD
    assert weight(mode("1x1", Weight.SHOULD), expect("fan", "", PRESENT)) is Weight.MUST


def test_class_that_the_order_says_is_not_there_does_not_count_against_a_choice() -> None:
    big = (mode("9x9"), expect("battery", "", PRESENT))
    option = Option(
        name="o",
        choices=(
            Choice(name="big", sku="", expectations=big),
            Choice(name="small", sku="", expectations=(mode("8x8"),)),
        ),
    )
    seen = inventory(device("display", connected=True, native_mode="9x9"))
    told = Told(choices={}, not_present=frozenset({"battery"}))
    assert settle(seen, option, told=told).findings[0].found.startswith("the unit looks like big")


def test_options_without_any_demand_are_told_by_name() -> None:
    option = Option(
        name="o",
        choices=tuple(Choice(name=name, sku="", expectations=()) for name in ("b", "a")),
    )
    (finding,) = settle(inventory(), option).findings
    assert finding.origin == "option o"
    assert "looks like a," in finding.found


@given(
    st.permutations(PANEL.choices),
    st.sampled_from(["1920x1080", "2880x1800", "1x1", None]),
    st.integers(min_value=0, max_value=2),
)
def test_order_of_choices_never_matters(
    choices: list[Choice], resolution: str | None, count: int
) -> None:
    shown = BLANK if resolution is None else resolution
    panel = [
        device("display", f"d{number}", connected=True, native_mode=shown)
        for number in range(count)
    ]
    mixed = Option(name="panel", choices=tuple(choices))
    assert settle(inventory(*panel), mixed) == settle(inventory(*panel), PANEL)
