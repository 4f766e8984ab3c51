"""Profiles: every kind of demand, and mistakes that are told all at once."""

import json
import random
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from closeout.expect.mistake import Mistakes
from closeout.expect.profile import Profile, parse_profile
from closeout.model.built_in import BuiltIn
from closeout.model.expectation import (
    Condition,
    Demand,
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
from strategies.profiles import as_toml, profiles, spoilt

HEAD = 'profile = 1\nid = "a/b"\nrevision = "1"\ntitle = "A B"\n'
FILLED = 'filled = true\nweight = "must"'
SOUND = 'class = "wifi"\npresent = true\nweight = "must"'


def parse(*demands: str) -> Profile:
    text = HEAD + "".join(f"[[demand]]\n{demand}\n" for demand in demands)
    outcome = parse_profile("x.toml", text.encode())
    assert isinstance(outcome, Profile), outcome.show()
    return outcome


def mistakes(*demands: str, head: str = HEAD) -> list[str]:
    text = head + "".join(f"[[demand]]\n{demand}\n" for demand in demands)
    outcome = parse_profile("x.toml", text.encode())
    assert isinstance(outcome, Mistakes)
    return outcome.show().split("\n")


DEMANDS: list[tuple[str, Demand]] = [
    ('class = "wifi"\npresent = true', Present(at_least=1, at_most=None)),
    ('class = "drive"\ndevices_at_least = 2', Present(at_least=2, at_most=None)),
    ('class = "drive"\ndevices_at_most = 0', Present(at_least=0, at_most=0)),
    ('class = "drive"\ndevices_at_least = 1\ndevices_at_most = 2', Present(at_least=1, at_most=2)),
    ('class = "drive"\nattribute = "serial"\nfilled = true', Filled()),
    ('class = "drive"\nattribute = "serial"\nequals = "S1"', Equals(value="S1")),
    ('class = "drive"\nattribute = "rotational"\nequals = false', Equals(value=False)),
    ('class = "battery"\nattribute = "cycle_count"\none_of = [0, 1]', OneOf(values=(0, 1))),
    ('class = "drive"\nattribute = "model"\npattern = "[A-Z]+"', Pattern(pattern="[A-Z]+")),
    ('class = "battery"\nattribute = "health_percent"\nat_least = 60', Within(low=60, high=None)),
    ('class = "battery"\nattribute = "cycle_count"\nat_most = 9', Within(low=None, high=9)),
    (
        'class = "battery"\nattribute = "cycle_count"\nat_least = 1\nat_most = 9',
        Within(low=1, high=9),
    ),
    ('class = "battery"\nattribute = "cycle_count"\nwithin = [3, 3]', Within(low=3, high=3)),
    ('class = "system"\nattribute = "serial"\nmatches_order = true', MatchesOrder(value=None)),
    ('class = "bios"\nattribute = "version"\nnewer_or_equal = "1.2"', NewerOrEqual(version="1.2")),
    ('class = "identity_views"\nattribute = "disagreements"\nempty = true', Empty()),
]


@pytest.mark.parametrize(("text", "demand"), DEMANDS, ids=[text for text, _ in DEMANDS])
def test_each_demand(text: str, demand: Demand) -> None:
    (expectation,) = parse(f'{text}\nweight = "should"').expectations
    assert expectation.demand == demand
    assert expectation.weight is Weight.SHOULD


def test_everything_that_goes_with_a_demand() -> None:
    text = """class = "usb_device"
attribute = "serial"
filled = true
weight = "note"
where = { vendor_name = "V", ids = "fe01:0002" }
on_mismatch = "review"
external_counts = true
part = "camera"
connection = "ribbon"
source = "table 7" """
    assert parse(text).expectations == (
        Expectation(
            kind="usb_device",
            attribute="serial",
            demand=Filled(),
            weight=Weight.NOTE,
            where=(
                Condition(attribute="ids", value="fe01:0002"),
                Condition(attribute="vendor_name", value="V"),
            ),
            review_only=True,
            external_counts=True,
            origin="profile a/b (table 7)",
            part="camera",
            connection="ribbon",
        ),
    )


def test_adapter_counts_although_it_is_outside() -> None:
    (adapter,) = parse('class = "adapter"\npresent = true\nweight = "must"').expectations
    (drive,) = parse('class = "drive"\npresent = true\nweight = "must"').expectations
    assert adapter.external_counts
    assert not drive.external_counts


def test_uuid_and_address_take_one_form() -> None:
    uuid, mac = parse(
        'class = "system"\nattribute = "uuid"\nequals = "00112233445566778899AABBCCDDEEFF"\n'
        'weight = "must"',
        'class = "wifi"\nattribute = "mac"\nequals = "02-AB-00-00-00-01"\nweight = "must"',
    ).expectations
    assert uuid.demand == Equals(value="00112233-4455-6677-8899-aabbccddeeff")
    assert mac.demand == Equals(value="02:ab:00:00:00:01")
    (current,) = parse(
        'class = "wired_network"\nattribute = "current_mac"\nequals = "02-AB-00-00-00-01"\n'
        'weight = "note"'
    ).expectations
    assert current.demand == mac.demand


SERIAL = 'class = "drive"\nattribute = "serial"\n'
HEALTH = 'class = "battery"\nattribute = "health_percent"\n'
MUST = 'weight = "must"'
CLASHES = [
    (f'{SERIAL}equals = "A"\n{MUST}', f'{SERIAL}equals = "B"\n{MUST}', "cannot be met together"),
    (f'{SERIAL}equals = "A"\n{MUST}', f'{SERIAL}one_of = ["B"]\n{MUST}', "cannot be met together"),
    (f'{SERIAL}equals = "A"\n{MUST}', f'{SERIAL}pattern = "B.*"\n{MUST}', "cannot be met"),
    (f'{SERIAL}one_of = ["A"]\n{MUST}', f'{SERIAL}one_of = ["B"]\n{MUST}', "cannot be met"),
    (f"{HEALTH}at_least = 60\n{MUST}", f"{HEALTH}at_most = 50\n{MUST}", "cannot be met together"),
    (f"{HEALTH}at_most = 50\n{MUST}", f"{HEALTH}equals = 60\n{MUST}", "cannot be met together"),
    (f"{HEALTH}at_most = 50\n{MUST}", f'{HEALTH}at_most = 50\nweight = "note"', "asks the same"),
    (
        f'class = "wifi"\npresent = true\n{MUST}',
        f'class = "wifi"\ndevices_at_most = 0\n{MUST}',
        "cannot be met together",
    ),
    (
        f'class = "drive"\ndevices_at_most = 1\n{MUST}',
        f'class = "drive"\ndevices_at_least = 2\nwhere = {{bus = "sata"}}\n{MUST}',
        "cannot be met together",
    ),
    (
        f'{SERIAL}equals = "A"\n{MUST}',
        f'{SERIAL}equals = "B"\nwhere = {{bus = "sata"}}\n{MUST}',
        "cannot be met together",
    ),
    (
        f'class = "identity_views"\nattribute = "table_faults"\nempty = true\n{MUST}',
        f'class = "identity_views"\nattribute = "table_faults"\nfilled = true\n{MUST}',
        "cannot be met together",
    ),
]


@pytest.mark.parametrize(("first", "second", "why"), CLASHES)
def test_demands_that_clash(first: str, second: str, why: str) -> None:
    for one, other in ((first, second), (second, first)):
        (line,) = mistakes(one, other)
        place = HEAD.count("\n") + one.count("\n") + 3
        assert line.startswith(f"x.toml:{place}: demand[2]: ")
        assert why in line
        assert line.endswith(f"the demand on line {HEAD.count(chr(10)) + 1}")


COMPATIBLE = [
    (f'{SERIAL}equals = "A"\n{MUST}', f'{SERIAL}pattern = "A|B"\n{MUST}'),
    (f"{SERIAL}filled = true\n{MUST}", f'{SERIAL}equals = "B"\nweight = "note"'),
    (f"{HEALTH}at_least = 60\n{MUST}", f'{HEALTH}at_least = 80\nweight = "should"'),
    (
        f'{SERIAL}equals = "A"\nwhere = {{bus = "nvme"}}\n{MUST}',
        f'{SERIAL}equals = "B"\nwhere = {{bus = "sata"}}\n{MUST}',
    ),
    (
        f'class = "drive"\ndevices_at_most = 2\nwhere = {{bus = "nvme"}}\n{MUST}',
        f'class = "drive"\ndevices_at_least = 3\n{MUST}',
    ),
    (
        f'class = "oem_strings"\nattribute = "strings"\nequals = "A"\n{MUST}',
        f'class = "oem_strings"\nattribute = "strings"\nequals = "B"\n{MUST}',
    ),
]


@pytest.mark.parametrize(("first", "second"), COMPATIBLE)
def test_demands_that_can_stand_together(first: str, second: str) -> None:
    assert len(parse(first, second).expectations) == 2


@pytest.mark.parametrize(
    ("demand", "line"),
    [
        ("class = 'wifi'", "x.toml:5: demand[1].weight: missing"),
        (
            f"class = 'drive'\ndevices_at_least = -1\n{MUST}",
            "x.toml:7: demand[1].devices_at_least: a whole number from 0 to 2^63 is wanted, -1",
        ),
        (
            f"class = 'drive'\ndevices_at_least = 0x1{'0' * 5000}\n{MUST}",
            "x.toml:7: demand[1].devices_at_least: a whole number from 0 to 2^63 is wanted, one of",
        ),
        (
            f"class = 'drive'\npresent = true\n{'x' * 70} = 1\n{MUST}",
            f"x.toml:8: demand[1].{'x' * 60}: no such key; allowed: class, ",
        ),
        (f"{SERIAL}pattern = ' '\n{MUST}", "x.toml:8: demand[1].pattern: text is wanted"),
        (f"{SERIAL}equals = '{'x' * 201}'\n{MUST}", "x.toml:8: demand[1].equals: 201 characters"),
        (f"{SERIAL}one_of = 'x'\n{MUST}", "x.toml:8: demand[1].one_of: a list is wanted"),
        (
            f"{SERIAL}one_of = {['x'] * 51}\n{MUST}",
            "x.toml:8: demand[1].one_of: 51 items; allowed: 50",
        ),
        (
            f"{SERIAL}one_of = [3, 'x']\n{MUST}",
            "x.toml:8: demand[1].one_of[1]: text is wanted, the number 3 is given",
        ),
        (
            f"class = 'battery'\nattribute = 'cycle_count'\nwithin = [5, 'x']\n{MUST}",
            "x.toml:8: demand[1].within[2]: a whole number is wanted, the text 'x' is given",
        ),
        (
            f"class = 'system'\nattribute = 'uuid'\nequals = 5\n{MUST}",
            "x.toml:8: demand[1].equals: text is wanted, the number 5 is given",
        ),
        (
            f"class = 'wifi'\nattribute = 'mac'\nequals = 5\n{MUST}",
            "x.toml:8: demand[1].equals: text is wanted, the number 5 is given",
        ),
        (
            f"{SERIAL}filled = true\n{MUST}\nequals = 'A'",
            "x.toml:10: demand[1].equals: one demand each; this has filled, equals",
        ),
        (
            f"{SERIAL}present = true\n{MUST}",
            "x.toml:8: demand[1].present: present counts devices, so no attribute belongs here",
        ),
        (
            f"class = 'drive'\ndevices_at_least = 0\n{MUST}",
            "x.toml:7: demand[1].devices_at_least: 0 demands nothing; 1 is the least",
        ),
        (
            f"class = 'battery'\nattribute = 'energy_full'\nat_least = 5\n{MUST}",
            "x.toml:7: demand[1].attribute: 'energy_full' is not known here",
        ),
        (
            f"class = 'battery'\nattribute = 'cycle_count'\nat_least = 1.5\n{MUST}",
            "x.toml:8: demand[1].at_least: a whole number is wanted, the number 1.5 is given",
        ),
        (
            f"class = 'battery'\nattribute = 'cycle_count'\nwithin = [5]\n{MUST}",
            "x.toml:8: demand[1].within: a low and a high end are wanted: [low, high]",
        ),
        (
            f"{SERIAL}one_of = ['A',\n'A']\n{MUST}",
            "x.toml:9: demand[1].one_of[2]: given twice in this list",
        ),
        (
            f"{SERIAL}equals = 'A'\nwhere = {{connected = true, bus = 1}}\n{MUST}",
            "x.toml:9: demand[1].where.bus: text is wanted, the number 1 is given",
        ),
        (
            f"{SERIAL}equals = 'A\\u001b[31m'\n{MUST}".replace("'A\\u001b[31m'", '"A\\u001b[31m"'),
            "x.toml:8: demand[1].equals: 'A\\x1b[31m' holds characters that cannot be printed",
        ),
    ],
)
def test_mistake_in_a_demand(demand: str, line: str) -> None:
    assert any(found.startswith(line) for found in mistakes(demand)), mistakes(demand)


def test_mistakes_are_told_all_at_once_and_in_order() -> None:
    found = mistakes("clas = 'wifi'", "class = 'wify'\npresent = 1", head=HEAD + "matches = 3\n")
    lines = [int(line.split(":")[1]) for line in found]
    assert lines == sorted(lines)
    assert len(found) == 6


def test_what_is_built_in() -> None:
    demand = f"[[demand]]\n{SOUND}\n"
    told = parse_profile("x.toml", f'{HEAD}[built_in]\nconnectors = ["DP-1"]\n{demand}'.encode())
    assert isinstance(told, Profile)
    assert told.built_in == BuiltIn(connectors=("DP-1",))
    assert parse(SOUND).built_in == BuiltIn()
    usb = 'usb_ports = ["1-4", "3-2.1"]\nusb_ids = ["fe41:0101"]\n'
    told = parse_profile("x.toml", f"{HEAD}[built_in]\n{usb}{demand}".encode())
    assert isinstance(told, Profile)
    assert told.built_in == BuiltIn(usb_ports=("1-4", "3-2.1"), usb_ids=("fe41:0101",))


def test_mistakes_in_what_is_built_in() -> None:
    assert mistakes(SOUND, head=HEAD + "built_in = 3\n") == [
        "x.toml:5: built_in: a table is wanted, the number 3 is given"
    ]
    head = HEAD + '[built_in]\nconnectors = [7, ""]\nsockets = []\n'
    assert sorted(line.split(": ")[1] for line in mistakes(SOUND, head=head)) == [
        "built_in.connectors[1]",
        "built_in.connectors[2]",
        "built_in.sockets",
    ]
    head = HEAD + '[built_in]\nusb_ports = ["usb1", "1-4:1.0", 3]\nusb_ids = ["FE41:0101", ":"]\n'
    assert sorted(line.split(": ")[1] for line in mistakes(SOUND, head=head)) == [
        *(f"built_in.usb_ids[{number}]" for number in (1, 2)),
        *(f"built_in.usb_ports[{number}]" for number in (1, 2, 3)),
    ]


def test_demand_that_is_no_table_and_none_at_all() -> None:
    assert mistakes(head=HEAD + "demand = [1]\n") == [
        "x.toml:5: demand[1]: a table is wanted, the number 1 is given"
    ]
    assert mistakes(head=HEAD + "demand = []\n") == [
        "x.toml:5: demand: nothing is demanded, so nothing could be released"
    ]


def test_file_of_another_kind_or_format_is_told_alone() -> None:
    assert mistakes(head="profile = 2\nx = 1\n") == [
        "x.toml:1: profile: format 2 is not known here; allowed: 1"
    ]
    assert mistakes(head="") == ["x.toml:1: profile: missing; the file must say profile = 1"]


def test_too_many_mistakes_are_counted() -> None:
    found = mistakes(head=HEAD + "".join(f"x{number} = 1\n" for number in range(700)))
    assert len(found) == 501
    assert found[-1] == "x.toml:1: 201 more mistakes are not shown"


def test_hostile_key_and_name_are_shown_harmless() -> None:
    raw = b'profile = 1\n"\\u001b[2J\\u202e" = 1\n'
    outcome = parse_profile("a\x1b\n.toml", raw)
    assert isinstance(outcome, Mistakes)
    assert all(mistake.show().isprintable() for mistake in outcome.found)


@given(profiles(), st.randoms(use_true_random=False))
def test_order_of_demands_and_keys_changes_nothing_but_the_digest(
    tree: dict[str, Any], chance: random.Random
) -> None:
    mixed = dict(tree)
    mixed["demand"] = [dict(_shuffled(list(one.items()), chance)) for one in tree["demand"]]
    _shuffled(mixed["demand"], chance)
    first, second = parse_profile("x", as_toml(tree)), parse_profile("x", as_toml(mixed))
    assert isinstance(first, Profile), first.show()
    assert isinstance(second, Profile)
    assert first.expectations == second.expectations
    assert len(first.expectations) == len(tree["demand"])


def _shuffled(items: list[Any], chance: random.Random) -> list[Any]:
    chance.shuffle(items)
    return items


@given(spoilt(profiles()))
def test_spoilt_profile_gives_a_profile_or_mistakes(tree: dict[str, Any]) -> None:
    outcome = parse_profile("x", json.dumps(tree).encode())
    if isinstance(outcome, Mistakes):
        assert outcome.found
        assert all(mistake.show().isprintable() for mistake in outcome.found)


@given(st.binary())
def test_any_bytes_give_a_profile_or_mistakes(raw: bytes) -> None:
    assert isinstance(parse_profile("x", raw), Profile | Mistakes)


def test_a_demand_for_a_part_may_name_the_ids_by_which_a_bus_shows_it() -> None:
    (expectation,) = parse(f'{SOUND}\nbus_ids = ["NLTP0001", "fe21:0007"]').expectations
    assert expectation.bus_ids == ("NLTP0001", "fe21:0007")


@pytest.mark.parametrize(
    ("demand", "wrong"),
    [
        (f'{SOUND}\nbus_ids = "PNP0C50"', "a list is wanted"),
        (f'{SOUND}\nbus_ids = ["two words"]', "an id as its bus writes it"),
        (f"{SOUND}\nbus_ids = [7]", "bus_ids"),
        (
            'class = "usb_device"\npresent = true\nweight = "must"\nbus_ids = ["fe21:0007"]',
            "a usb_device is told by where",
        ),
        (f'class = "wifi"\nattribute = "driver"\n{FILLED}\nbus_ids = ["a"]', "no attribute"),
        (f'class = "system"\nattribute = []\n{FILLED}', "attribute"),
    ],
)
def test_what_says_nothing_is_a_mistake(demand: str, wrong: str) -> None:
    (told,) = mistakes(demand)
    assert wrong in told
