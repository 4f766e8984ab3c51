"""No core dump of a process that may have read a key; proven in programs of their own."""

import os
import subprocess
import sys
from pathlib import Path

import pytest

from closeout.kernel import privacy

MSDM = "sys/firmware/acpi/tables/MSDM"
DUMPABLE = """
import resource
_, hard = resource.getrlimit(resource.RLIMIT_CORE)
resource.setrlimit(resource.RLIMIT_CORE, (hard, hard))
from closeout.kernel.privacy import forbid_core_dumps, is_undumpable
assert not is_undumpable()
"""


def run(program: str, *arguments: str, folder: Path) -> int:
    """The wait status of a program that starts out dumpable."""
    process = subprocess.Popen(
        [sys.executable, "-c", DUMPABLE + program, *arguments],
        cwd=folder,
        stderr=subprocess.DEVNULL,
    )
    _, status = os.waitpid(process.pid, 0)
    process.returncode = os.waitstatus_to_exitcode(status)
    return status


def test_a_process_says_that_it_cannot_be_dumped(tmp_path: Path) -> None:
    assert run("forbid_core_dumps(); assert is_undumpable()", folder=tmp_path) == 0


def test_a_crash_leaves_no_core(tmp_path: Path) -> None:
    status = run("forbid_core_dumps(); import os; os.abort()", folder=tmp_path)
    assert os.WIFSIGNALED(status)
    assert not os.WCOREDUMP(status)
    assert not list(tmp_path.iterdir())


@pytest.mark.parametrize("tree", ["folder import FolderTree", "live import LiveTree"])
def test_a_tree_forbids_before_it_reads_a_key(tmp_path: Path, tree: str) -> None:
    (tmp_path / MSDM).parent.mkdir(parents=True)
    (tmp_path / MSDM).write_bytes(b"key")
    (tmp_path / "other").write_bytes(b"no key")
    module, _, name = tree.partition(" import ")
    program = f"""
import sys, os
from closeout.kernel.{module} import {name}
tree = {name}(sys.argv[1])
tree.read("other")
assert not is_undumpable()
seen = []
real_open = os.open
def watched(*arguments):
    seen.append(is_undumpable())
    return real_open(*arguments)
os.open = watched
tree.read("{MSDM}")
assert seen == [True]
"""
    assert run(program, str(tmp_path), folder=tmp_path) == 0


def test_evidence_is_decoded_undumpable(tmp_path: Path) -> None:
    program = """
from closeout.kernel.evidence_file import decode_evidence
try:
    decode_evidence(b"")
except Exception:
    pass
assert is_undumpable()
"""
    assert run(program, folder=tmp_path) == 0


def test_children_made_by_fork_cannot_be_dumped_either(tmp_path: Path) -> None:
    program = """
import os
forbid_core_dumps()
pid = os.fork()
if pid == 0:
    os._exit(0 if is_undumpable() else 1)
assert os.waitpid(pid, 0)[1] == 0
"""
    assert run(program, folder=tmp_path) == 0


def test_a_kernel_that_refuses_stops_the_reading(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(privacy, "is_undumpable", lambda: False)
    privacy.forbid_core_dumps.cache_clear()
    with pytest.raises(PermissionError):
        privacy.forbid_core_dumps()
