"""Parts against drawn inventories: one device each, the best fit, and nothing passes by silence."""

from collections import Counter
from collections.abc import Iterable
from itertools import permutations

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from closeout.judge.demands import judge_inventory
from closeout.judge.disagreement import cost_of_none, disagreement
from closeout.judge.parts import match_devices
from closeout.judge.steps import explain
from closeout.model.device import Device, Position
from closeout.model.expectation import Weight, Within
from closeout.model.finding import Finding, Outcome
from closeout.model.frozen import replace
from closeout.model.inventory import Inventory
from closeout.model.part_demand import PartDemand
from closeout.model.reading import Unreadable
from closeout.model.verdict import Verdict, decide
from strategies.demands import part, whole_catalogue
from strategies.devices import DENIED, device, inventory

CATALOGUE = whole_catalogue()
GIB = 1 << 30
SLOT_1 = part("memory_module", "module in slot 1", locator="SLOT 1", size_bytes=8 * GIB)
SLOT_2 = part("memory_module", "module in slot 2", locator="SLOT 2", size_bytes=16 * GIB)


def module(slot: str, gib: int, **more: object) -> Device:
    said = {"fitted": True, "locator": slot, "size_bytes": gib * GIB, **more}
    return device("memory_module", f"memory/{slot}", **said)


def judge(unit: Inventory, *parts: PartDemand) -> tuple[Finding, ...]:
    return judge_inventory(unit, (), CATALOGUE, parts)


def told(findings: Iterable[Finding]) -> dict[tuple[str, str], tuple[Outcome, str]]:
    """Outcome and what was found, by the part's name and what of it."""
    return {
        (finding.label, finding.rule.partition(".")[2]): (finding.outcome, finding.found)
        for finding in findings
    }


def test_a_module_of_another_size_is_one_finding_about_its_size() -> None:
    found = judge(inventory(module("SLOT 1", 8), module("SLOT 2", 8)), SLOT_1, SLOT_2)
    assert told(found) == {
        ("module in slot 2", "size_bytes"): (Outcome.FAIL, "8 GiB"),
        ("module in slot 1", "presence"): (Outcome.PASS, "SLOT 1"),
        ("module in slot 1", "locator"): (Outcome.PASS, "SLOT 1"),
        ("module in slot 1", "size_bytes"): (Outcome.PASS, "8 GiB"),
        ("module in slot 2", "presence"): (Outcome.PASS, "SLOT 2"),
        ("module in slot 2", "locator"): (Outcome.PASS, "SLOT 2"),
    }
    (sentence,) = explain(Verdict.HOLD, found, CATALOGUE)
    assert sentence.endswith("(module in slot 2): expected 16 GiB, found 8 GiB")


def test_modules_in_each_others_sockets_are_told_by_their_sockets() -> None:
    """Where all but the place agrees, they changed places; else each is of the wrong size."""
    by_number = [
        replace(each, wanted=(*each.wanted, *part("memory_module", "", serial=serial).wanted))
        for each, serial in ((SLOT_1, "S1"), (SLOT_2, "S2"))
    ]
    swapped = inventory(module("SLOT 1", 16, serial="S2"), module("SLOT 2", 8, serial="S1"))
    failed = [f.rule for f in judge(swapped, *by_number) if f.outcome is Outcome.FAIL]
    assert failed == ["memory_module.locator", "memory_module.locator"]
    failed = [f.rule for f in judge(swapped, SLOT_1, SLOT_2) if f.outcome is Outcome.FAIL]
    assert failed == ["memory_module.size_bytes", "memory_module.size_bytes"]


def test_an_empty_socket_leaves_its_part_without_a_device() -> None:
    empty = device("memory_module", "memory/SLOT 2", fitted=False, locator="SLOT 2")
    found = told(judge(inventory(module("SLOT 1", 8), empty), SLOT_1, SLOT_2))
    assert found["module in slot 2", "presence"] == (Outcome.FAIL, "none")
    assert ("module in slot 2", "size_bytes") not in found
    assert found["module in slot 1", "presence"] == (Outcome.PASS, "SLOT 1")


def test_a_device_that_agrees_in_nothing_is_no_part_and_unexpected() -> None:
    stray = module("SLOT 3", 32, serial="X")
    (missing, unexpected) = judge(inventory(stray), SLOT_2)
    assert (missing.rule, missing.outcome) == ("memory_module.presence", Outcome.FAIL)
    assert missing.subject == "memory_module (module in slot 2)"
    assert missing.found == "none; SLOT 3 differs in all that is wanted"
    assert unexpected == replace(
        unexpected,
        rule="memory_module.unexpected",
        subject="memory/SLOT 3",
        label="SLOT 3",
        weight=Weight.NOTE,
        outcome=Outcome.REVIEW,
        expected="the parts that the profile names, and no more",
        found="32 GiB, SLOT 3",
        origin="a test",
    )


def test_a_device_of_which_nothing_is_wanted_is_unexpected_all_the_same() -> None:
    pads = [device("touchpad", place, driver="drawn") for place in ("a", "b")]
    found = judge(inventory(*pads), part("touchpad", "touchpad"))
    assert [(f.subject, f.found) for f in found if f.rule == "touchpad.unexpected"] == [
        ("b", "one more")
    ]


def test_what_an_order_names_is_not_all_that_there_is() -> None:
    fitted = replace(SLOT_1, names_all=False)
    found = judge(inventory(module("SLOT 1", 8), module("SLOT 2", 16)), fitted)
    assert {f.outcome for f in found} == {Outcome.PASS}


def test_each_file_has_the_devices_for_itself() -> None:
    fitted = part("memory_module", "fitted module", size_bytes=8 * GIB)
    found = judge(inventory(module("SLOT 1", 8)), SLOT_1, replace(fitted, names_all=False))
    assert {f.outcome for f in found} == {Outcome.PASS}


@pytest.mark.parametrize("position", [Position.UNREAD, Position.UNKNOWN])
def test_what_may_be_outside_is_no_pass_and_not_missing(position: Position) -> None:
    keyboard = device("keyboard", "usb/1-3", position, driver="drawn", ids="fe21:0007")
    unit = inventory(keyboard)
    found = told(judge(unit, part("keyboard", "keyboard", ids="fe21:0007")))
    assert found["keyboard", "presence"] == (Outcome.UNREAD, "none; could not tell for 1-3")
    assert all(f.rule != "keyboard.unexpected" for f in judge(unit, part("keyboard", "k", ids="x")))


def test_nothing_from_outside_is_a_part_or_unexpected() -> None:
    webcam = device("camera", "usb/1-3", Position.EXTERNAL, driver="drawn", ids="fe30:0001")
    wanted = part("camera", "camera", ids="fe30:0001")
    (missing,) = judge(inventory(webcam), wanted)
    assert (missing.rule, missing.outcome) == ("camera.presence", Outcome.FAIL)
    adapter = device("adapter", "power/AC", Position.EXTERNAL, online=True)
    counted = replace(part("adapter", "adapter"), external_counts=True)
    assert {f.outcome for f in judge(inventory(adapter), counted)} == {Outcome.PASS}


def test_a_part_that_the_bus_shows_without_a_driver_is_uncovered_with_all_of_it() -> None:
    card = device("pci_device", "pci/0000:02:00.0", class_code="028000")
    found = told(judge(inventory(card), part("wifi", "Wi-Fi module", mac="02:1a:7d:00:3c:91")))
    assert found["Wi-Fi module", "presence"] == (
        Outcome.UNCOVERED,
        "none; the bus shows 0000:02:00.0 without a driver",
    )
    assert found["Wi-Fi module", "mac"][0] is Outcome.UNCOVERED


def test_parts_of_a_kind_that_could_not_be_listed_are_unread() -> None:
    listing = Unreadable(error="EACCES", advice="run as root", sources=("sys/firmware/dmi",))
    findings = judge(inventory(memory_module=listing), SLOT_1, SLOT_2)
    assert len(findings) == 6
    assert {f.outcome for f in findings} == {Outcome.UNREAD}
    assert {f.label for f in findings} == {"module in slot 1", "module in slot 2"}
    assert len({(f.rule, f.subject) for f in findings}) == 6


def test_a_mismatch_that_only_asks_a_person_is_a_review() -> None:
    soft = replace(SLOT_2, review_only=True)
    found = told(judge(inventory(module("SLOT 2", 8)), soft))
    assert found["module in slot 2", "size_bytes"] == (Outcome.REVIEW, "8 GiB")


def test_of_two_packs_the_fitted_one_is_the_good_one() -> None:
    fitted = part("battery", "fitted pack", health_percent=Within(low=95, high=None))
    packs = [
        device("battery", place, present=True, health_percent=health)
        for place, health in (("bat/0", 60), ("bat/1", 99))
    ]
    found = judge(inventory(*packs), replace(fitted, names_all=False))
    assert {(f.subject, f.outcome) for f in found} == {("bat/1", Outcome.PASS)}


# ---- properties

SLOTS = st.sampled_from(["SLOT 1", "SLOT 2", "SLOT 3"])
WANTED = st.fixed_dictionaries(
    {},
    optional={
        "locator": SLOTS,
        "size_bytes": st.sampled_from([8, 16]),
        "memory_type": st.sampled_from(["DDR4", "DDR5"]),
    },
)
PARTS = st.lists(
    st.builds(
        lambda name, weight, wanted, review: replace(
            part("memory_module", name, weight, **wanted), review_only=review
        ),
        st.sampled_from(["a", "b", "c"]),
        st.sampled_from(Weight),
        WANTED,
        st.booleans(),
    ),
    min_size=1,
    max_size=4,
)
SAID = st.fixed_dictionaries(
    {"fitted": st.sampled_from([True, True, True, False, DENIED])},
    optional={
        "locator": st.one_of(SLOTS, st.just(DENIED)),
        "size_bytes": st.sampled_from([8, 16, DENIED]),
        "memory_type": st.sampled_from(["DDR4", "DDR5", DENIED]),
    },
)
POSITIONS = st.sampled_from(
    [Position.INTERNAL, Position.INTERNAL, Position.EXTERNAL, Position.UNREAD, Position.UNKNOWN]
)


@st.composite
def modules(draw: st.DrawFn) -> list[Device]:
    said = draw(st.lists(st.tuples(SAID, POSITIONS), max_size=4))
    return [
        device("memory_module", f"memory/{number}", position, **each)
        for number, (each, position) in enumerate(said)
    ]


@given(PARTS, modules())
def test_no_other_way_to_give_out_the_devices_costs_less(
    parts: list[PartDemand], devices: list[Device]
) -> None:
    matching = match_devices(parts, devices)
    choices = [*devices, *([None] * len(parts))]

    def cost(pairs: Iterable[tuple[PartDemand, Device | None]]) -> int:
        return sum(disagreement(p, d) if d else cost_of_none(p) for p, d in pairs)

    least = min(cost(zip(parts, way, strict=True)) for way in permutations(choices, len(parts)))
    assert cost(matching.pairs) == least


@given(PARTS, modules())
def test_each_part_is_present_once_and_no_device_is_two_parts(
    parts: list[PartDemand], devices: list[Device]
) -> None:
    findings = judge(inventory(*devices), *parts)
    presence = [f for f in findings if f.rule == "memory_module.presence"]
    assert Counter(f.label for f in presence) == Counter(one.name for one in parts)
    places = [d.place for d in devices]
    had = [f.subject for f in presence if f.subject in places]
    left = [f.subject for f in findings if f.rule == "memory_module.unexpected"]
    assert len(set(had + left)) == len(had + left)
    outside = {d.place for d in devices if d.position is Position.EXTERNAL}
    assert outside.isdisjoint(had + left)


@given(PARTS, modules(), st.randoms(use_true_random=False))
def test_the_order_of_parts_and_devices_never_matters(
    parts: list[PartDemand], devices: list[Device], chance: object
) -> None:
    mixed, moved = list(parts), list(devices)
    chance.shuffle(mixed)  # type: ignore[attr-defined]
    chance.shuffle(moved)  # type: ignore[attr-defined]
    found = judge(inventory(*devices), *parts)
    again = judge(inventory(*moved), *mixed)
    assert [replace(f, evidence=()) for f in found] == [replace(f, evidence=()) for f in again]


@given(PARTS, modules(), st.data())
def test_a_device_more_that_meets_a_part_makes_no_verdict_worse(
    parts: list[PartDemand], devices: list[Device], data: st.DataObject
) -> None:
    """It may be unexpected itself, or make another one so; that is noted and decides nothing."""
    met = data.draw(st.sampled_from(parts))
    said = {attribute: demand.value for attribute, demand in met.wanted}  # type: ignore[union-attr]
    added = device("memory_module", data.draw(st.sampled_from(["m", "n"])), fitted=True, **said)
    assume(disagreement(met, added) == 0)
    ranks = [Verdict.RELEASE, Verdict.UNDECIDED, Verdict.HOLD]
    before = decide(judge(inventory(*devices), *parts))
    after = decide(judge(inventory(*devices, added), *parts))
    assert ranks.index(after) <= ranks.index(before)


@given(PARTS, modules(), st.data())
def test_a_reading_that_fails_makes_no_release(
    parts: list[PartDemand], devices: list[Device], data: st.DataObject
) -> None:
    assume(devices)
    before = decide(judge(inventory(*devices), *parts))
    at = data.draw(st.sampled_from(range(len(devices))))
    name = data.draw(st.sampled_from(["fitted", "locator", "size_bytes", "memory_type"]))
    devices[at] = replace(devices[at], **{name: DENIED})
    after = decide(judge(inventory(*devices), *parts))
    assert after is not Verdict.RELEASE or before is Verdict.RELEASE
