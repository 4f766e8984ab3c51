"""Files at the edge: ids and paths, what cannot be read, what ships."""

import os
from dataclasses import replace
from pathlib import Path

import pytest

from closeout.expect.choose import ANY_NOTEBOOK, choose_profile
from closeout.expect.load import (
    lint_file,
    lint_files,
    load_profile,
    load_work_order,
    shipped_profile_for,
    shipped_profiles,
)
from closeout.expect.mistake import Mistakes
from closeout.expect.profile import Match, Profile
from closeout.expect.shipped import ShippedFileError
from closeout.expect.vocabulary import OCCUPANCY
from closeout.expect.work_order import WorkOrder
from closeout.judge import selection
from closeout.model.expectation import Condition, Empty, Expectation, Filled, Weight

HEAD = 'profile = 1\nid = "a/b"\nrevision = "1"\ntitle = "A B"\n'
TEXT = HEAD + '[[demand]]\nclass = "wifi"\npresent = true\nweight = "must"\n'


def write(folder: Path, name: str, text: str = TEXT) -> Path:
    path = folder / name
    path.write_text(text, encoding="utf-8")
    return path


def show(outcome: object) -> str:
    assert isinstance(outcome, Mistakes)
    return outcome.show()


def test_profile_by_file_and_by_id(tmp_path: Path) -> None:
    by_file = load_profile(str(write(tmp_path, "x.toml")))
    by_id = load_profile(ANY_NOTEBOOK)
    assert isinstance(by_file, Profile)
    assert by_file.id == "a/b"
    assert isinstance(by_id, Profile)
    assert by_id.source.digest == by_id.digest


def test_unknown_id_is_told_with_the_nearest() -> None:
    assert "did you mean any-notebook?" in show(load_profile("any-notebok"))


def test_work_order_from_a_file(tmp_path: Path) -> None:
    path = write(tmp_path, "o.toml", 'work_order = 1\norder = "RX-1"\n')
    order = load_work_order(path)
    assert isinstance(order, WorkOrder)
    assert order.source.name == "RX-1"


def test_file_that_cannot_be_read(tmp_path: Path) -> None:
    os.mkfifo(tmp_path / "pipe")
    assert show(load_profile(f"{tmp_path}/none.toml")).endswith(
        "none.toml: cannot be read: No such file or directory"
    )
    assert show(load_work_order(tmp_path)).endswith(": not a plain file")
    assert show(load_work_order(tmp_path / "pipe")).endswith("pipe: not a plain file")
    assert "no file name" in show(load_work_order(Path("a\0b")))


def test_lint_needs_a_file() -> None:
    assert show(lint_files([])) == "profile lint: no file is given, so nothing was looked at"


def test_lint_of_several_files(tmp_path: Path) -> None:
    good = write(tmp_path, "good.toml")
    bad = write(tmp_path, "bad.toml", HEAD)
    order = write(tmp_path, "order.toml", 'work_order = 1\norder = "a b"\n')
    lines = show(lint_files([good, bad, order, tmp_path / "none"])).split("\n")
    assert [line.split(":")[0].rsplit("/", 1)[-1] for line in lines] == [
        "bad.toml",
        "order.toml",
        "none",
    ]
    sound = write(tmp_path, "sound.toml", 'work_order = 1\norder = "a"\n')
    assert lint_files([good, sound]) is None
    assert isinstance(lint_file(good), Profile)


def test_profiles_that_could_be_taken_for_each_other(tmp_path: Path) -> None:
    match = 'matches = {manufacturer = "A", product = "B"}\n'
    demand = TEXT.removeprefix(HEAD)
    first = write(tmp_path, "1.toml", HEAD + match + demand)
    second = write(tmp_path, "2.toml", HEAD + match + demand)
    assert show(lint_files([first, second])).split("\n") == [
        f"{second}: id: the same id as {first}",
        f"{second}: matches: the same matches as {first}",
    ]


def test_any_notebook_is_modest() -> None:
    profile = load_profile(ANY_NOTEBOOK)
    assert isinstance(profile, Profile)
    musts = {one.rule: one for one in profile.expectations if one.weight is Weight.MUST}
    assert sorted(musts) == [
        "drive.critical_warnings",
        "system.manufacturer",
        "system.product",
        "system.serial",
        "system.uuid",
    ]
    health = musts.pop("drive.critical_warnings")
    assert health.demand == Empty()
    assert health.where == (Condition(attribute="tells_health", value=True),)
    assert all(isinstance(one.demand, Filled) and one.where == () for one in musts.values())
    shoulds = [one.rule for one in profile.expectations if one.weight is Weight.SHOULD]
    assert shoulds == [
        "display.presence",
        "display.edid_valid",
        "battery.health_percent",
        "wifi.presence",
        "usb_port.over_current_count",
        "clock.presence",
        "clock.running",
        "pci_faults.fatal",
        "memory_controller.presence",
        "machine_checks.exceptions",
        "kernel_log.troubles",
    ]


def test_profile_is_chosen_by_maker_and_product() -> None:
    (general,) = [profile for profile in shipped_profiles() if profile.id == ANY_NOTEBOOK]
    special = replace(general, id="a/b", matches=Match(manufacturer="A", product="B"))
    assert choose_profile([special, general], "A", "B") is special
    assert choose_profile([special, general], "A", "B2") is general
    assert choose_profile([special, general], "a", "B") is general
    with pytest.raises(LookupError):
        choose_profile([special], "A", "C")


def test_occupancy_is_what_the_judge_takes_it_for() -> None:
    assert frozenset(selection.OCCUPANCY) == OCCUPANCY


def test_shipped_profiles_are_whole() -> None:
    profiles = shipped_profiles()
    assert all(isinstance(one, Expectation) for profile in profiles for one in profile.expectations)
    assert len({profile.id for profile in profiles}) == len(profiles)


DEMAND = TEXT.removeprefix(HEAD)
MATCHES = 'matches = {manufacturer = "A", product = "B"}\n'
OTHER = HEAD.replace("a/b", "a/c")


@pytest.mark.parametrize(
    ("files", "wrong"),
    [
        ({"a/b.toml": HEAD}, "b.toml:1: demand: missing"),
        ({"a/c.toml": TEXT}, "a/c.toml has the id a/b"),
        (
            {"a/b.toml": HEAD + MATCHES + DEMAND, "a/c.toml": OTHER + MATCHES + DEMAND},
            "a/c: matches: the same matches as a/b",
        ),
    ],
)
def test_shipped_profile_with_a_mistake(
    files: dict[str, str], wrong: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    for name, text in files.items():
        (tmp_path / name).parent.mkdir(exist_ok=True)
        write(tmp_path, name, text)
    monkeypatch.setattr("closeout.expect.load.shipped_folder", lambda _: tmp_path)
    with pytest.raises(ShippedFileError, match=wrong):
        shipped_profiles()


def test_the_shipped_profile_for_a_unit_is_the_one_chosen_out_of_all() -> None:
    profiles = shipped_profiles()
    for profile in profiles:
        if profile.matches:
            names = (profile.matches.manufacturer, profile.matches.product)
            assert shipped_profile_for(*names) == profile == choose_profile(profiles, *names)
    for names in (("", ""), ("Northlake", ""), ("nobody", "nothing")):
        assert shipped_profile_for(*names) == choose_profile(profiles, *names)
        assert shipped_profile_for(*names).id == "any-notebook"


def test_without_any_profile_the_installation_is_not_whole(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("closeout.expect.load.shipped_folder", lambda _: tmp_path)
    with pytest.raises(ShippedFileError, match="no profile 'any-notebook'"):
        shipped_profile_for("", "")
