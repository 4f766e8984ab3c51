"""The commands without arguments on the machine that runs the tests, whatever it is.

As programs of their own: the crew that reads a live machine is made before any thread runs.
"""

import json
import os
import re
import shutil
import subprocess
import sys
import tempfile
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from jsonschema import Draft202012Validator

import closeout
from closeout.expect.shipped import shipped_folder
from closeout.model.inventory import KINDS
from closeout.report.from_json import load_report
from closeout.report.story import kind_title
from strategies.laid_out import healthy

pytestmark = pytest.mark.live

SCHEMA = Draft202012Validator(
    json.loads((shipped_folder("reports") / "report-1.schema.json").read_text("utf-8"))
)
SOON = 120.0
"""Seconds that a busy machine may take; a run ends itself before."""
NOBODY = 65534
RIGHTS = {"EACCES", "EPERM"}
ROOT_ONLY = (
    *("product_serial", "product_uuid", "board_serial", "chassis_serial"),
    *("../../../firmware/dmi/tables/DMI", "../../../firmware/dmi/tables/smbios_entry_point"),
    "../../../firmware/acpi/tables/MSDM",
)
WITHOUT_RIGHTS = f"""
import os, sys
from dataclasses import replace
from closeout.cli.main import call
from closeout.cli.surroundings import real_surroundings
own = real_surroundings()
out, arguments = sys.argv[1], sys.argv[2:]
if os.geteuid() == 0:
    nowhere = open(os.devnull, "w")
    call([*arguments, "--out", out], replace(own, stdout=nowhere, stderr=nowhere))
    os.setgroups([])
    os.setgid({NOBODY})
    os.setuid({NOBODY})
assert os.geteuid() != 0
sys.exit(call(arguments, own))
"""
"""Root does it once before the rights are dropped, so that every module is loaded: the interpreter
may lie where only root can read."""
Told = subprocess.CompletedProcess[bytes]


def run(folder: Path, *arguments: object) -> Told:
    """`closeout ARGUMENTS` as whoever runs the tests."""
    return subprocess.run(
        [sys.executable, "-m", "closeout", *map(str, arguments)],
        cwd=folder,
        capture_output=True,
        timeout=SOON,
        check=False,
    )


@pytest.fixture(scope="module")
def checked(tmp_path_factory: pytest.TempPathFactory) -> tuple[Told, Path]:
    """`closeout check` without arguments, and the folder of its report."""
    place = tmp_path_factory.mktemp("live")
    told = run(place, "check")
    (attempt,) = place.glob("closeout-reports/no-order/*")
    return told, attempt


def tree_of(attempt: Path) -> dict[str, Any]:
    tree: dict[str, Any] = json.loads((attempt / "report.json").read_bytes())
    return tree


def unreadable_in(tree: object) -> Iterator[dict[str, Any]]:
    """Every reading in a report's tree that could not be read."""
    if isinstance(tree, dict):
        if tree.get("state") == "unreadable":
            yield tree
        for inner in tree.values():
            yield from unreadable_in(inner)
    elif isinstance(tree, list):
        for inner in tree:
            yield from unreadable_in(inner)


def test_a_check_without_arguments_says_its_verdict(checked: tuple[Told, Path]) -> None:
    told, attempt = checked
    report = load_report((attempt / "report.json").read_bytes())
    codes = {"release": 0, "hold": 1, "undecided": 3}
    assert told.stderr == b""
    assert told.returncode == codes[report.verdict.value]
    assert report.verdict.value.upper() in told.stdout.decode().splitlines()[0]
    assert f"Report: {attempt}" in told.stdout.decode()
    SCHEMA.validate(tree_of(attempt))


def test_no_reader_is_at_fault_and_none_was_given_up(checked: tuple[Told, Path]) -> None:
    _, attempt = checked
    errors = {reading["error"] for reading in unreadable_in(tree_of(attempt))}
    assert not errors & {"READER_FAULT", "NOT_RECORDED", "DEADLINE"}


def test_what_it_says_of_the_identity_is_what_the_kernel_says(checked: tuple[Told, Path]) -> None:
    """Where the kernel has no SMBIOS, it is unread: undecided, and nothing is called blank."""
    _, attempt = checked
    report = load_report((attempt / "report.json").read_bytes())
    view = Path("/sys/class/dmi/id")
    systems = report.inventory.section("system").devices
    if not view.exists() and not Path("/sys/firmware/dmi/tables/DMI").exists():
        assert report.verdict.value == "undecided"
        assert systems == ()
        musts = [one for one in report.findings if one.weight.value == "must"]
        assert {one.outcome.value for one in musts} == {"unread"}
        assert not [one for one in musts if "blank" in one.found]
    else:
        product = (view / "product_name").read_text("utf-8", "replace").strip()
        assert product in repr(systems)


def test_the_memory_is_what_the_kernel_says(checked: tuple[Told, Path]) -> None:
    _, attempt = checked
    found = re.search(r"MemTotal: +(\d+) kB", Path("/proc/meminfo").read_text("ascii"))
    assert found is not None
    memory = json.dumps(tree_of(attempt)["inventory"])
    assert str(int(found[1]) * 1024) in memory


def test_its_evidence_gives_the_same_findings_byte_for_byte(
    checked: tuple[Told, Path], tmp_path: Path
) -> None:
    told, attempt = checked
    again = run(tmp_path, "check", "--evidence", attempt / "evidence.jsonl.gz", "--json")
    assert again.returncode == told.returncode
    live, replayed = tree_of(attempt), json.loads(again.stdout)
    for part in ("verdict", "reasons", "first_steps", "findings", "inventory"):
        texts = [json.dumps(tree[part], ensure_ascii=False) for tree in (live, replayed)]
        assert texts[0] == texts[1], part
    assert live == replayed, "attempts are counted apart, in two folders"


def test_show_lists_every_kind(tmp_path: Path) -> None:
    told = run(tmp_path, "show")
    assert (told.returncode, told.stderr) == (0, b"")
    lines = told.stdout.decode().splitlines()
    for kind in KINDS:
        assert [line for line in lines if line.startswith(kind_title(kind))], kind
    listed = json.loads(run(tmp_path, "show", "--json").stdout)["inventory"]
    assert list(listed) == list(KINDS)
    assert list(tmp_path.iterdir()) == []


def test_a_capture_can_be_shown_and_checked(tmp_path: Path) -> None:
    told = run(tmp_path, "capture")
    assert (told.returncode, told.stderr) == (0, b"")
    (file,) = tmp_path.glob("evidence-*.jsonl.gz")
    assert re.match(rb"\d+ readings in ", told.stdout)
    shown = [run(tmp_path, "show", "--evidence", file, "--json").stdout for _ in range(2)]
    assert shown[0] == shown[1]
    report = json.loads(run(tmp_path, "check", "--evidence", file, "--json").stdout)
    assert json.loads(shown[0])["inventory"] == report["inventory"]


@pytest.fixture(scope="module")
def public() -> Iterator[Path]:
    """A folder that every user can enter, with the program's own files and room to write."""
    place = Path(tempfile.mkdtemp(prefix="closeout-"))
    place.chmod(0o755)
    package = place / "program" / "closeout"
    shutil.copytree(
        Path(closeout.__file__).parent, package, ignore=shutil.ignore_patterns("__pycache__")
    )
    for name in ("profiles", "reports"):
        shutil.copytree(shipped_folder(name), package / "shipped" / name, dirs_exist_ok=True)
    (place / "room").mkdir()
    (place / "room").chmod(0o777)
    yield place
    shutil.rmtree(place)


@pytest.fixture(scope="module")
def ordinary(public: Path, tmp_path_factory: pytest.TempPathFactory) -> Callable[..., Told]:
    """`closeout ARGUMENTS` as a user without rights."""

    def call(*arguments: object) -> Told:
        warm = tmp_path_factory.mktemp("warm")
        return subprocess.run(
            [sys.executable, "-c", WITHOUT_RIGHTS, str(warm), *map(str, arguments)],
            cwd=public / "room",
            env={"PYTHONPATH": str(public / "program"), "PYTHONDONTWRITEBYTECODE": "1"},
            capture_output=True,
            timeout=SOON,
            check=False,
        )

    return call


def assert_rights_are_told_where_they_lack(attempt: Path) -> set[str]:
    """'run as root' stands with each reading that lacks rights, and with no other."""
    unreadable = list(unreadable_in(tree_of(attempt)))
    for reading in unreadable:
        assert ("run as root" in reading["advice"]) == (reading["error"] in RIGHTS), reading
    errors = {reading["error"] for reading in unreadable}
    text = (attempt / "report.json").read_text("utf-8")
    assert ("run as root" in text) == bool(errors & RIGHTS)
    return errors


def test_a_user_without_rights_checks_this_machine(
    ordinary: Callable[..., Told], public: Path
) -> None:
    told = ordinary("check", "--out", "live")
    assert told.stderr == b""
    (attempt,) = (public / "room" / "live").glob("no-order/*")
    assert told.returncode == (3 if tree_of(attempt)["verdict"] == "undecided" else 1)
    errors = assert_rights_are_told_where_they_lack(attempt)
    assert not errors & {"READER_FAULT", "NOT_RECORDED"}


def test_a_user_without_rights_gets_undecided_where_root_gets_release(
    ordinary: Callable[..., Told], public: Path, tmp_path: Path
) -> None:
    """Files that the kernel shows to root alone: unreadable, never blank."""
    unit = healthy(public / "unit")
    assert run(tmp_path, "check", "--root", unit, "--quiet").returncode == 0
    for name in ROOT_ONLY:
        (unit / "sys/class/dmi/id" / name).chmod(0o400 if os.geteuid() == 0 else 0)
    told = ordinary("check", "--root", unit, "--out", "folder")
    assert told.returncode == 3, told
    assert "run as root" in told.stdout.decode().replace("\n   ", " ")
    (attempt,) = (public / "room" / "folder").glob("no-order/*")
    assert assert_rights_are_told_where_they_lack(attempt) & RIGHTS
    musts = [one for one in tree_of(attempt)["findings"] if one["weight"] == "must"]
    outcomes = {one["rule"]: one["outcome"] for one in musts}
    assert outcomes["system.serial"] == outcomes["system.uuid"] == "unread"
    assert outcomes["system.manufacturer"] == outcomes["system.product"] == "pass"
    assert not [one for one in musts if "blank" in one["found"]]
