"""The parts of a profile: what a table says, and every mistake in it."""

import random
from typing import Any

from hypothesis import given
from hypothesis import strategies as st

from closeout.expect.mistake import Mistakes
from closeout.expect.part_demand import part_attributes
from closeout.expect.profile import Profile, parse_profile
from closeout.model.expectation import Equals, OneOf, Pattern, Weight, Within
from closeout.model.inventory import KINDS
from closeout.model.part_demand import PartDemand
from strategies.profiles import as_toml, parts

HEAD = """profile = 1
id = "a/b"
revision = "1"
title = "A B"
[[demand]]
class = "system"
attribute = "serial"
filled = true
weight = "must"
"""
SLOT = """[[part]]
class = "memory_module"
name = "memory module in slot 2"
weight = "must"
"""


def parse(text: str) -> tuple[PartDemand, ...]:
    outcome = parse_profile("x.toml", (HEAD + text).encode())
    assert isinstance(outcome, Profile), outcome.show()
    return outcome.parts


def mistakes(text: str) -> list[str]:
    outcome = parse_profile("x.toml", (HEAD + text).encode())
    assert isinstance(outcome, Mistakes)
    return outcome.show().split("\n")


def test_a_part_with_all_that_can_be_said() -> None:
    (part,) = parse(
        SLOT
        + """locator = "SLOT 2"
size_bytes = { at_least = 8589934592, at_most = 17179869184 }
memory_type = { one_of = ["DDR4", "DDR5"] }
form_factor = { pattern = "SO.*" }
connection = "socket 2, the upper one"
bus_ids = ["PNP0C80"]
source = "service manual, table 3"
on_mismatch = "review"
"""
    )
    assert part == PartDemand(
        kind="memory_module",
        name="memory module in slot 2",
        weight=Weight.MUST,
        wanted=(
            ("size_bytes", Within(low=8589934592, high=17179869184)),
            ("locator", Equals(value="SLOT 2")),
            ("memory_type", OneOf(values=("DDR4", "DDR5"))),
            ("form_factor", Pattern(pattern="SO.*")),
        ),
        connection="socket 2, the upper one",
        bus_ids=("PNP0C80",),
        origin="profile a/b (service manual, table 3)",
        review_only=True,
        names_all=True,
    )


def test_a_part_of_which_nothing_is_said() -> None:
    (part,) = parse('[[part]]\nclass = "adapter"\nname = "adapter"\nweight = "note"\n')
    assert part.wanted == ()
    assert part.external_counts
    assert part.origin == "profile a/b"
    assert list(part.rules) == ["adapter.presence", "adapter.unexpected"]


def test_parts_with_the_same_name_of_different_places_stand_together() -> None:
    first, second = parse(SLOT + 'locator = "A"\n' + SLOT + 'locator = "B"\nserial = "S"\n')
    assert first.name == second.name


def test_a_number_of_its_own_tells_parts_apart_too() -> None:
    same = SLOT + 'serial = "S1"\n'
    assert len(parse(same + SLOT + 'serial = "S2"\n')) == 2
    (line,) = mistakes(same + same)
    assert line == (
        "x.toml:15: part[2]: this part is on line 10 already, with the same place or serial"
    )


def test_no_attribute_is_called_as_a_key_of_the_table() -> None:
    """A keyboard's own name would be taken for what people call the part."""
    assert "name" not in part_attributes("keyboard")
    assert "ids" in part_attributes("keyboard")
    (line,) = mistakes(SLOT + "fitted = true\n")
    assert line.startswith("x.toml:14: part[1].fitted: no such key")


def test_more_parts_than_a_demand_allows_cannot_be() -> None:
    count = '[[demand]]\nclass = "memory_module"\ndevices_at_most = 1\nweight = "must"\n'
    slots = [SLOT + f'locator = "{name}"\n' for name in "AB"]
    (line,) = mistakes(count + "".join(slots))
    wrong = "a demand allows 1 of this class at most, and this is part 2"
    assert line == f"x.toml:19: part[2]: {wrong}"
    assert len(parse(count + slots[0])) == 1
    some = count.replace("weight", 'where = { bank_locator = "X" }\nweight')
    assert len(parse(some + "".join(slots))) == 2


def test_a_bus_device_has_no_other_ids() -> None:
    for kind in ("pci_device", "usb_device", "bus_device"):
        text = f'[[part]]\nclass = "{kind}"\nname = "x"\nweight = "must"\nbus_ids = ["fe21:0007"]\n'
        (line,) = mistakes(text)
        assert (
            line == f"x.toml:14: part[1].bus_ids: a {kind} is told by its ids = ...; leave this out"
        )


@given(st.lists(parts(), min_size=1, max_size=4), st.randoms(use_true_random=False))
def test_the_order_in_the_file_changes_no_part(
    tables: list[dict[str, Any]], chance: random.Random
) -> None:
    mixed = [dict(chance.sample(list(table.items()), len(table))) for table in tables]
    one, other = (parse(as_toml({"part": each}).decode()) for each in (tables, mixed))
    assert one == other
    assert [part.kind for part in one] == [table["class"] for table in tables]
    assert all(part.kind in KINDS and part.names_all for part in one)
