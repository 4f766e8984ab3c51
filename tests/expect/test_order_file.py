"""Work orders: what the label, the firmware and the fitted parts demand."""

import json
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from closeout.expect.mistake import Mistakes
from closeout.expect.order_file import parse_work_order
from closeout.expect.work_order import WorkOrder
from closeout.model.expectation import (
    Equals,
    Expectation,
    NewerOrEqual,
    Present,
    Weight,
    Within,
)
from closeout.model.handling import Omission
from strategies.profiles import as_toml, spoilt, work_orders

HEAD = 'work_order = 1\norder = "RX-1"\n'
ONE = Present(at_least=1, at_most=None)


def parse(text: str) -> WorkOrder:
    outcome = parse_work_order("x.toml", (HEAD + text).encode())
    assert isinstance(outcome, WorkOrder), outcome.show()
    return outcome


def mistakes(text: str, head: str = HEAD) -> list[str]:
    outcome = parse_work_order("x.toml", (head + text).encode())
    assert isinstance(outcome, Mistakes)
    return outcome.show().split("\n")


def demanded(order: WorkOrder) -> dict[str, list[object]]:
    found: dict[str, list[object]] = {}
    for expectation in order.expectations:
        found.setdefault(expectation.rule, []).append(expectation.demand)
    return found


def test_label_and_firmware() -> None:
    order = parse(
        """profile = "a/b"
repairs = ["system-board", "drive"]
[unit]
serial = "S"
uuid = "00112233-4455-6677-8899-AABBCCDDEEFF"
asset_tag = "T"
[firmware]
version_at_least = "1.2"
secure_boot = true
licence = "expected"
"""
    )
    assert (order.order, order.profile) == ("RX-1", "a/b")
    assert order.repairs == ("system-board", "drive")
    assert demanded(order) == {
        "system.serial": [Equals(value="S")],
        "system.uuid": [Equals(value="00112233-4455-6677-8899-aabbccddeeff")],
        "chassis.asset_tag": [Equals(value="T")],
        "bios.version": [NewerOrEqual(version="1.2")],
        "firmware.secure_boot": [Equals(value=True)],
        "licence.presence": [ONE],
        "licence.well_formed": [Equals(value=True)],
        "licence.checksum_good": [Equals(value=True)],
        "licence.key_format": [Equals(value="well-formed")],
    }
    assert {one.weight for one in order.expectations} == {Weight.MUST}
    assert {one.origin for one in order.expectations} == {"work order RX-1"}
    assert not any(one.review_only or one.external_counts for one in order.expectations)


def test_no_licence_belongs_there() -> None:
    assert demanded(parse('[firmware]\nlicence = "none"')) == {
        "licence.presence": [Present(at_least=0, at_most=0)]
    }


def parts(text: str) -> list[tuple[str, str, dict[str, object]]]:
    return [(part.kind, part.name, dict(part.wanted)) for part in parse(text).parts]


def test_part_is_told_by_all_that_the_order_says_of_it() -> None:
    assert parts('[[fitted]]\nclass = "drive"\nserial = "S"\nmodel = "M"\n') == [
        ("drive", "fitted drive", {"serial": Equals(value="S"), "model": Equals(value="M")})
    ]


def test_part_with_a_place_is_called_by_it_and_never_by_its_number() -> None:
    (part,) = parts('[[fitted]]\nclass = "memory_module"\nlocator = "DIMM 1"\nserial = "S77"\n')
    assert part[1] == "memory module in DIMM 1"


def test_parts_alike_want_a_device_each() -> None:
    part = '[[fitted]]\nclass = "memory_module"\nsize_bytes = 8589934592\npart_number = "P"\n'
    first, second = parse(part + part).parts
    assert first == second
    assert (first.weight, first.review_only, first.names_all) == (Weight.MUST, False, False)
    assert first.origin == "work order RX-1"
    assert [(one.rule, one.demand) for one in (first.presence, *first.demands)] == [
        ("memory_module.presence", ONE),
        ("memory_module.size_bytes", Equals(value=8589934592)),
        ("memory_module.part_number", Equals(value="P")),
    ]


@pytest.mark.parametrize(("line", "low"), [("", 95), ("health_at_least = 90", 90)])
def test_fitted_battery_must_be_as_good_as_new(line: str, low: int) -> None:
    (part,) = parts(f'[[fitted]]\nclass = "battery"\nserial = "S"\n{line}\n')
    assert part[2] == {
        "serial": Equals(value="S"),
        "health_percent": Within(low=low, high=None),
    }


def test_no_health_is_asked_of_a_battery_that_may_have_none() -> None:
    (part,) = parts('[[fitted]]\nclass = "battery"\nhealth_at_least = 0\n')
    assert part[2] == {}


def test_fitted_adapter_counts_although_it_is_outside() -> None:
    (adapter,) = parse('[[fitted]]\nclass = "adapter"\n').parts
    assert adapter.external_counts
    assert adapter.presence.external_counts


def test_what_is_not_present_is_kept_with_its_reason() -> None:
    order = parse('[[not_present]]\nclass = "drive"\nreason = "kept"\n')
    assert order.facts.not_present == (Omission(what="drive", reason="kept"),)
    assert order.expectations == ()


@pytest.mark.parametrize("name", ["RX-1", "2026.0417_B", "a", "A" * 64])
def test_order_that_a_path_can_hold(name: str) -> None:
    assert parse_work_order("x", f'work_order = 1\norder = "{name}"'.encode()).order == name  # type: ignore[union-attr]


@pytest.mark.parametrize(
    "name", ["..", ".a", "a.", "a..b", "a/b", "a\\\\b", "-a", "A" * 65, "a b", "ä", "no-order", ""]
)
def test_order_that_no_path_should_hold(name: str) -> None:
    (line,) = mistakes("", head=f'work_order = 1\norder = "{name}"\n')
    assert line.startswith("x.toml:2: order: ")


@pytest.mark.parametrize(
    ("text", "line"),
    [
        ("repairs = ['panel', 'panel']", "x.toml:3: repairs[2]: panel is listed twice"),
        ("repairs = ['screan']", "x.toml:3: repairs[1]: 'screan' is not known here; allowed"),
        ("unit = 3", "x.toml:3: unit: a table is wanted, the number 3 is given"),
        ("[unit]\nuuid = 'x'", "x.toml:4: unit.uuid: 'x' is no UUID"),
        ("[firmware]\nsecure_boot = 'on'", "x.toml:4: firmware.secure_boot: true or false"),
        ("[[fitted]]\nserial = 'x'", "x.toml:3: fitted[1].class: missing"),
        ("[[fitted]]\nclass = 'board'", "x.toml:4: fitted[1].class: 'board' is not known here"),
        (
            "[[fitted]]\nclass = 'battery'\nhealth_percent = 99",
            "x.toml:5: fitted[1].health_percent: no such key",
        ),
        (
            "[[fitted]]\nclass = 'battery'\nhealth_at_least = 'good'",
            "x.toml:5: fitted[1].health_at_least: a whole number in % is wanted",
        ),
        (
            "[[fitted]]\nclass = 'memory_module'\nlocator = 'A'\nrank = 1\n" * 2,
            "x.toml:7: fitted[2]: this part is on line 3 already, with the same place or serial",
        ),
        (
            "[[fitted]]\nclass = 'drive'\nhealth_at_least = 99",
            "x.toml:5: fitted[1].health_at_least: no such key",
        ),
        (
            "[[fitted]]\nclass = 'drive'\n[[not_present]]\nclass = 'drive'\nreason = 'x'",
            "x.toml:6: not_present[1].class: drive is listed under fitted too",
        ),
        (
            "[[not_present]]\nclass = 'drive'\nreason = 'x'\n" * 2,
            "x.toml:7: not_present[2].class: drive is listed twice",
        ),
        (
            "[[not_present]]\nclass = 'usb_device'\nreason = 'x'",
            "x.toml:4: not_present[1].class: 'usb_device' is not known here",
        ),
    ],
)
def test_mistake(text: str, line: str) -> None:
    (found,) = mistakes(text)
    assert found.startswith(line)


@given(work_orders())
def test_sound_order_is_read(tree: dict[str, Any]) -> None:
    outcome = parse_work_order("x", as_toml(tree))
    assert isinstance(outcome, WorkOrder), outcome.show()
    assert len(outcome.unit) == len(tree["unit"])
    assert outcome.missing == {one["class"] for one in tree["not_present"]}
    assert [one.kind for one in outcome.parts] == [part["class"] for part in tree["fitted"]]
    assert all(isinstance(one, Expectation) for one in outcome.expectations)


@given(spoilt(work_orders()))
def test_spoilt_order_gives_an_order_or_mistakes(tree: dict[str, Any]) -> None:
    outcome = parse_work_order("x", json.dumps(tree).encode())
    if isinstance(outcome, Mistakes):
        assert outcome.found
        assert all(mistake.show().isprintable() for mistake in outcome.found)


@given(st.binary())
def test_any_bytes_give_an_order_or_mistakes(raw: bytes) -> None:
    assert isinstance(parse_work_order("x", raw), WorkOrder | Mistakes)


def test_spaces_around_a_value_of_the_label_are_not_part_of_it() -> None:
    order = parse(
        """[unit]
serial = " QX14-88 "
[[fitted]]
class = "battery"
serial = "VT0931  "
"""
    )
    assert order.unit["system", "serial"] == "QX14-88"
    assert demanded(order)["system.serial"] == [Equals(value="QX14-88")]
    (pack,) = order.parts
    assert ("serial", Equals(value="VT0931")) in pack.wanted


def test_options_are_names_of_what_a_model_comes_in() -> None:
    order = parse('[options]\npanel = "high"\nreader = "without"\n')
    assert order.options == {"panel": "high", "reader": "without"}
    assert parse("").options == {}
    assert len(mistakes('[options]\n"Big Panel" = "high"\npanel = "2.5 K"\nreader = 1\n')) == 3
