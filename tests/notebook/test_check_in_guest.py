"""The agent inside a booted notebook: its verdicts, and that they are found again outside."""

import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import pytest

from notebook.checked import Checked, check
from notebook.conftest import Once
from notebook.machine import Machine

pytestmark = pytest.mark.notebook

HEALTHY = ("fen-14", "skerry-13", "osier-15")
UNDECIDED = 3
TIME = "clock.kept_time"
REFUSED = ("EACCES", "EPERM")
"""The second is how the kernel's log refuses (dmesg_restrict)."""


@pytest.fixture(
    params=[
        pytest.param((name, user), id=f"{name}-{user}", marks=pytest.mark.xdist_group(name))
        for name in HEALTHY
        for user in ("root", "technician")
    ],
)
def checked(
    request: pytest.FixtureRequest, booted: Callable[[str], Machine], once: Once
) -> Checked:
    name, user = request.param
    made = once(("checked", name, user), lambda: check(booted(name), name, user))
    assert isinstance(made, Checked)
    return made


def test_verdict_of_a_healthy_notebook(checked: Checked, request: pytest.FixtureRequest) -> None:
    """Root sees that all is well; an ordinary user is told what only root can read.

    What the order's repair disturbed a person has to look at, and nobody has. Whether the clock is
    right nobody can say: no reference time is given.
    """
    is_root = request.node.callspec.id.endswith("-root")
    assert checked.ran.err == b""
    assert checked.ran.status == UNDECIDED
    findings = [found for found in checked.report["findings"] if found["rule"] != TIME]
    (time,) = (found for found in checked.report["findings"] if found["rule"] == TIME)
    assert (time["outcome"], "NO_REFERENCE" in time["found"]) == ("unread", True)
    not_met = [found for found in findings if found["outcome"] != "pass"]
    asked = [found for found in not_met if found["rule"].startswith("connection.")]
    assert asked
    assert {found["outcome"] for found in asked} == {"review"}
    unmet = [found for found in not_met if found not in asked]
    unread = [found for found in unmet if found["outcome"] == "unread"]
    told = [(found["rule"], found["found"]) for found in unmet]
    assert unmet == ([] if is_root else unread), told
    assert all(any(code in found["found"] for code in REFUSED) for found in unread)


def test_evidence_replays_outside_to_the_same_report(checked: Checked, tmp_path: Path) -> None:
    """Byte for byte, on another Python, on a machine that has none of the devices."""
    for name, content in (
        ("evidence.jsonl.gz", checked.evidence),
        ("profile.toml", checked.profile),
        ("order.toml", checked.order),
    ):
        (tmp_path / name).write_bytes(content)
    again = subprocess.run(
        [
            *(sys.executable, "-m", "closeout", "check", "--json", "--out", "reports"),
            *("--profile", "profile.toml", "--work-order", "order.toml"),
            *("--evidence", "evidence.jsonl.gz"),
        ],
        cwd=tmp_path,
        capture_output=True,
        check=False,
    )
    assert again.stderr == b""
    assert (again.returncode, again.stdout) == (checked.ran.status, checked.ran.out)


def test_the_report_says_where_the_time_went(checked: Checked) -> None:
    spent = checked.report["reader_microseconds"]
    assert spent.keys() == checked.report["inventory"].keys()
    assert 0 < sum(spent.values()) < checked.ran.seconds * 1_000_000 * 2
