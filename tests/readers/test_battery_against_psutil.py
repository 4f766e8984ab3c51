"""Energy and charge of a pack, compared with what psutil works out of the same folder."""

from collections.abc import Mapping
from pathlib import Path

import pytest

from closeout.kernel.folder import FolderTree
from closeout.model.reading import Value
from closeout.readers.battery import find_batteries, read_battery
from oracles.psutil_supply import battery_percent
from strategies.drawn_tree import Content
from strategies.power_supply import CHARGE_PACK, CLASS, ENERGY_PACK
from strategies.shown import value_of

HALF_CHARGED = {**CHARGE_PACK, "charge_now": b"1977600\n", "capacity": b"48\n"}


@pytest.mark.parametrize(
    ("pack", "unit"),
    [
        (ENERGY_PACK, "energy_{}_uwh"),
        (CHARGE_PACK, "charge_{}_uah"),
        (HALF_CHARGED, "charge_{}_uah"),
    ],
    ids=["energy", "full charge", "half charge"],
)
def test_both_read_the_same_numbers(pack: Mapping[str, Content], unit: str, tmp_path: Path) -> None:
    folder = tmp_path / CLASS / "BAT0"
    folder.mkdir(parents=True)
    for name, content in pack.items():
        assert isinstance(content, bytes)
        (folder / name).write_bytes(content)
    tree = FolderTree(tmp_path)
    assert find_batteries(tree) == Value(value=(f"{CLASS}/BAT0",), sources=(CLASS,))
    ours = read_battery(tree, f"{CLASS}/BAT0")
    full: int = value_of(getattr(ours, unit.format("full")))
    now: int = value_of(getattr(ours, unit.format("now")))
    theirs = battery_percent(tmp_path / CLASS)
    assert theirs == pytest.approx(100 * now / full)
    assert int(theirs) == value_of(ours.capacity_percent)
