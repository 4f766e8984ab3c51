"""Descriptions: every notebook is whole, variants change what they say, mistakes name the key."""

from pathlib import Path

import pytest

from notebook.description import (
    DescriptionError,
    changed,
    load_notebook,
    notebook_names,
    read_notebook,
)

WHOLE = ("fen-14", "osier-15", "skerry-13")
RAW = {"a": {"b": {"c": 1}}, "d": 2}


@pytest.mark.parametrize("name", notebook_names())
def test_every_description_loads(name: str) -> None:
    notebook = load_notebook(name)
    assert notebook.title
    assert notebook.panel is not None
    assert notebook.drive
    assert notebook.battery


def test_three_models_are_whole_and_differ() -> None:
    notebooks = [load_notebook(name) for name in WHOLE]
    assert len({notebook.profile for notebook in notebooks}) == 3
    assert {notebook.firmware for notebook in notebooks} == {"secure-boot", "bios"}
    assert {drive.bus for each in notebooks for drive in each.drive.values()} == {"nvme", "sata"}


def test_variant_differs_in_what_it_says_only() -> None:
    whole, variant = load_notebook("fen-14"), load_notebook("fen-14-ribbon-left-out")
    assert set(whole.usb) - set(variant.usb) == {"fingerprint"}
    assert variant.system.serial == "NL7QK51M"
    assert variant.chassis.asset_tag is None
    assert (variant.panel, variant.battery) == (whole.panel, whole.battery)


def test_changes_leave_the_tables_they_came_from_alone() -> None:
    assert changed(RAW, ("a.b.c",), {"d": 3, "a.e": 4}) == {"a": {"b": {}, "e": 4}, "d": 3}
    assert RAW == {"a": {"b": {"c": 1}}, "d": 2}


@pytest.mark.parametrize(
    ("without", "change", "said"),
    [
        (("a.x",), {}, "without 'a.x': there is no such part"),
        (("x.y",), {}, "'x.y': there is no 'x'"),
        ((), {"d.y": 1}, "'d.y': there is no 'd'"),
    ],
)
def test_change_of_what_is_not_there(
    without: tuple[str, ...], change: dict[str, object], said: str
) -> None:
    with pytest.raises(DescriptionError, match=said):
        changed(RAW, without, change)


def test_mistakes_name_notebook_and_key(tmp_path: Path) -> None:
    with pytest.raises(DescriptionError, match="there is no notebook 'none'; there are fen-14"):
        load_notebook("none")
    (tmp_path / "x.toml").write_text('like = "y"\nlid = {}\n', "utf-8")
    with pytest.raises(DescriptionError, match=r"x\.toml: a variant has no lid"):
        load_notebook("x", tmp_path)
    with pytest.raises(DescriptionError, match=r"x: can not match .*lidd"):
        read_notebook("x", {"title": "X", "lidd": {}})
