"""`closeout capture`: one file that holds everything, and `show` of it."""

import gzip
import json
from hashlib import sha256
from pathlib import Path

import pytest

from closeout.cli import source
from closeout.kernel import evidence_file
from strategies.laid_out import healthy
from strategies.surroundings import call_in


def test_the_file_is_named_by_its_digest(tmp_path: Path) -> None:
    told = call_in(tmp_path, "capture", "--root", healthy(tmp_path / "unit"))
    (file,) = tmp_path.glob("evidence-*.jsonl.gz")
    digest = sha256(gzip.decompress(file.read_bytes())).hexdigest()
    assert file.name == f"evidence-{digest[:12]}.jsonl.gz"
    count = len(gzip.decompress(file.read_bytes()).splitlines()) - 1
    assert (told.code, told.err) == (0, "")
    assert told.out == f"{count} readings in {file} (sha256 {digest})\n"


def test_a_named_file_is_written_and_never_overwritten(tmp_path: Path) -> None:
    unit = healthy(tmp_path / "unit")
    assert call_in(tmp_path, "capture", "--root", unit, "-o", "as-received.gz").code == 0
    kept = (tmp_path / "as-received.gz").read_bytes()
    told = call_in(tmp_path, "capture", "--root", unit, "-o", "as-received.gz")
    assert told.code == 2
    assert "nothing is overwritten" in told.err
    assert (tmp_path / "as-received.gz").read_bytes() == kept
    assert sorted(path.name for path in tmp_path.iterdir()) == ["as-received.gz", "unit"]


def test_quiet_says_nothing(tmp_path: Path) -> None:
    unit = healthy(tmp_path / "unit")
    told = call_in(tmp_path, "capture", "--root", unit, "--quiet", terminal=True)
    assert (told.code, told.out, told.err) == (0, "", "")


def test_progress_is_shown_on_a_terminal(tmp_path: Path) -> None:
    unit = healthy(tmp_path / "unit")
    assert "reading " in call_in(tmp_path, "capture", "--root", unit, terminal=True).err
    assert "reading " in call_in(tmp_path, "show", "--root", unit, terminal=True).err
    assert call_in(tmp_path, "show", "--root", unit).err == ""


@pytest.mark.parametrize("form", [(), ("--json",)])
def test_what_was_captured_shows_the_same_unit(tmp_path: Path, form: tuple[str, ...]) -> None:
    unit = healthy(tmp_path / "unit")
    call_in(tmp_path, "capture", "--root", unit, "-o", "kept.gz")
    now = call_in(tmp_path, "show", "--root", unit, *form)
    then = call_in(tmp_path, "show", "--evidence", tmp_path / "kept.gz", *form)
    assert (now.code, now.err) == (0, "")
    assert "NW83KD20" in now.out
    assert now.raw == then.raw


def test_show_json_is_the_inventory_of_the_report(tmp_path: Path) -> None:
    unit = healthy(tmp_path / "unit")
    shown = json.loads(call_in(tmp_path, "show", "--root", unit, "--json").raw)
    report = json.loads(call_in(tmp_path, "check", "--root", unit, "--json").raw)
    assert shown == {"inventory": report["inventory"]}


def test_the_secret_reaches_the_recording(tmp_path: Path) -> None:
    (tmp_path / "secret").write_bytes(b"a secret of the depot")
    unit = healthy(tmp_path / "unit")
    call_in(
        *(tmp_path, "capture", "--root", unit, "-o", "kept.gz"),
        *("--depot-secret", tmp_path / "secret"),
    )
    assert b"hmac-sha256:" in gzip.decompress((tmp_path / "kept.gz").read_bytes())


def test_the_same_readings_give_the_same_file(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(source.time, "monotonic_ns", lambda: 0)
    unit = healthy(tmp_path / "unit")
    for name in ("a", "b"):
        call_in(tmp_path, "capture", "--root", unit, "-o", name)
    assert (tmp_path / "a").read_bytes() == (tmp_path / "b").read_bytes()


def test_a_recording_too_large_is_refused_and_not_written(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(evidence_file, "LARGEST", 1000)
    told = call_in(tmp_path, "capture", "--root", healthy(tmp_path / "unit"), "-o", "kept.gz")
    assert (told.code, told.out, told.err.count("\n")) == (2, "", 1)
    assert "the evidence was not written: evidence: more than" in told.err
    assert not (tmp_path / "kept.gz").exists()
