"""A drawn unit end to end: the parts that a profile and an order name, from its files to a report.

The unit has 8 GiB in DIMM A and 16 GiB in DIMM B, a drive of 238 GiB and a camera in the lid.
"""

from dataclasses import replace
from pathlib import Path

import pytest

from closeout.model.finding import Finding, Outcome
from closeout.model.report import Report
from closeout.model.verdict import Verdict
from closeout.report.redact import redact
from strategies.drawn_tree import DrawnTree
from strategies.fen import HEALTHY
from strategies.notebook import Module, Plan, draw_notebook
from strategies.runs import judge, record

GIB = 1 << 30
PROFILE = f"""profile = 1
id = "norwel/slate"
revision = "1"
title = "Norwel Slate"

[[demand]]
class = "system"
attribute = "serial"
filled = true
weight = "must"

[[part]]
class = "memory_module"
name = "memory module in slot 1"
locator = "DIMM A"
size_bytes = {8 * GIB}
connection = "socket DIMM A, beside the fan"
weight = "must"

[[part]]
class = "memory_module"
name = "memory module in slot 2"
locator = "DIMM B"
size_bytes = {16 * GIB}
connection = "socket DIMM B"
weight = "must"

[[part]]
class = "drive"
name = "drive"
bus = "nvme"
size_bytes = {{ within = [{230 * GIB}, {240 * GIB}] }}
connection = "M.2 socket"
weight = "must"

[[part]]
class = "camera"
name = "camera in the lid"
ids = "fe22:0c31"
weight = "must"
"""
SLOTS = (Module(locator="DIMM A", gib=8), Module(locator="DIMM B", gib=16))
UNIT = replace(HEALTHY, modules=SLOTS)
WEBCAM = "sys/devices/pci0000:00/0000:00:14.0/usb1/1-7"


def with_webcam(tree: DrawnTree, ids: str, removable: bytes) -> DrawnTree:
    """The unit with one more camera, at port 1-7."""
    lens = f"{WEBCAM}/1-7:1.0"
    node = f"{lens}/video4linux/video2"
    vendor, number = ids.split(":")
    files = {
        f"{WEBCAM}/removable": removable,
        f"{WEBCAM}/idVendor": f"{vendor}\n".encode(),
        f"{WEBCAM}/idProduct": f"{number}\n".encode(),
        f"{lens}/uevent": f"PRODUCT={vendor}/{number.lstrip('0')}/110\n".encode(),
        f"{node}/name": b"Desk Camera\n",
        f"{node}/index": b"0\n",
        f"{node}/dev": b"81:2\n",
        "run/udev/data/c81:2": b"E:ID_V4L_CAPABILITIES=:capture:\n",
    }
    links = {
        "sys/class/video4linux/video2": node,
        f"{lens}/driver": "sys/bus/usb/drivers/uvcvideo",
        "sys/bus/usb/devices/1-7": WEBCAM,
    }
    return replace(tree, files={**tree.files, **files}, links={**tree.links, **links})


@pytest.fixture
def profile(tmp_path: Path) -> str:
    path = tmp_path / "slate.toml"
    path.write_text(PROFILE, encoding="utf-8")
    return str(path)


def judged(profile: str, plan: Plan = UNIT, order: Path | None = None) -> Report:
    return judge(record(draw_notebook(plan)), profile, order)


def not_passed(report: Report) -> list[Finding]:
    return [finding for finding in report.findings if finding.outcome is not Outcome.PASS]


def test_a_unit_as_the_profile_says_is_released(profile: str) -> None:
    report = judged(profile)
    assert report.verdict is Verdict.RELEASE
    assert not_passed(report) == []


def test_a_module_of_the_wrong_size_is_told_by_its_slot_and_both_sizes(profile: str) -> None:
    short = (SLOTS[0], Module(locator="DIMM B", gib=8))
    report = judged(profile, replace(UNIT, modules=short))
    assert report.verdict is Verdict.HOLD
    assert report.reasons == ("Size of the memory module in slot 2: expected 16 GiB, found 8 GiB",)
    (step,) = report.first_steps
    assert step.title == "Size of the memory module in slot 2"
    assert step.action.endswith("Here: socket DIMM B.")


def test_two_modules_in_each_others_slots_are_two_wrong_sizes(profile: str) -> None:
    swapped = (Module(locator="DIMM A", gib=16), Module(locator="DIMM B", gib=8))
    report = judged(profile, replace(UNIT, modules=swapped))
    assert sorted(report.reasons) == [
        "Size of the memory module in slot 1: expected 8 GiB, found 16 GiB",
        "Size of the memory module in slot 2: expected 16 GiB, found 8 GiB",
    ]


def test_an_empty_slot_is_a_missing_module(profile: str) -> None:
    empty = (SLOTS[0], Module(locator="DIMM B", gib=0))
    report = judged(profile, replace(UNIT, modules=empty))
    assert report.reasons == ("Memory module in slot 2: expected present, found none",)


def test_a_third_module_is_unexpected_and_holds_nothing(profile: str) -> None:
    third = (*SLOTS, Module(locator="DIMM C", gib=4))
    report = judged(profile, replace(UNIT, modules=third))
    assert report.verdict is Verdict.RELEASE
    (unexpected,) = not_passed(report)
    assert (unexpected.rule, unexpected.label) == ("memory_module.unexpected", "DIMM C")
    assert unexpected.found == "4 GiB, DIMM C"
    assert report.words[unexpected.rule].title == "Unexpected: Memory module"


def test_a_drive_of_another_size_is_the_drive_all_the_same(profile: str) -> None:
    report = judged(profile, replace(UNIT, drive_gib=119))
    assert report.reasons == ("Size of the drive: expected 230 GiB to 240 GiB, found 119 GiB",)


@pytest.mark.parametrize("ids", ["fe22:0c31", "fe30:0001"])
def test_a_webcam_outside_is_no_part_and_no_matter(profile: str, ids: str) -> None:
    outside = with_webcam(draw_notebook(UNIT), ids, b"removable\n")
    assert len(read_cameras(judge(record(outside), profile))) == 2
    assert not_passed(judge(record(outside), profile)) == []
    lidless = replace(
        outside, links={k: v for k, v in outside.links.items() if not k.endswith("video0")}
    )
    report = judge(record(lidless), profile)
    assert report.reasons == ("Camera in the lid: expected present, found none",)


def test_a_second_camera_inside_is_unexpected(profile: str) -> None:
    inside = with_webcam(draw_notebook(UNIT), "fe30:0001", b"fixed\n")
    (unexpected,) = not_passed(judge(record(inside), profile))
    assert (unexpected.rule, unexpected.found) == ("camera.unexpected", "fe30:0001")


def read_cameras(report: Report) -> tuple[object, ...]:
    return report.inventory.section("camera").devices


def test_an_order_says_what_was_fitted_in_a_slot_of_the_profile(
    profile: str, tmp_path: Path
) -> None:
    order = tmp_path / "order.toml"
    order.write_text(
        'work_order = 1\norder = "RX-1"\n[[fitted]]\nclass = "memory_module"\n'
        'locator = "DIMM B"\nserial = "9F31C0A7"\n'
        '[[fitted]]\nclass = "drive"\nserial = "PS99990000"\n',
        encoding="utf-8",
    )
    report = judged(profile, order=order)
    assert sorted(report.reasons) == [
        "Serial number of the drive: expected PS99990000, found PS77120004",
        "Serial number of the memory module in slot 2: expected 9F31C0A7, found 61A2",
    ]
    presence = [one for one in report.findings if one.rule == "memory_module.presence"]
    assert [one.origin for one in presence] == [
        "profile norwel/slate",
        "work order RX-1, profile norwel/slate",
    ]
    shown = repr(redact(report))
    assert not any(serial in shown for serial in ("9F31C0A7", "PS99990000", "PS77120004"))
