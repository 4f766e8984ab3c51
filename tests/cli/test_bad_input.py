"""What people hand in by mistake: a clear line each, exit code 2, and never a traceback."""

import gzip
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from closeout.cli import decode, source
from closeout.kernel import evidence_file
from strategies.drawn_tree import DrawnTree
from strategies.laid_out import healthy
from strategies.runs import record
from strategies.surroundings import Told, call_in

NOISE = bytes(range(256)) * 8
ORDER = 'work_order = 1\norder = "T-1"\n'


@pytest.fixture
def place(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """The current folder, with a sound unit and files that are not what they should be."""
    monkeypatch.chdir(tmp_path)
    (tmp_path / "unit").mkdir()
    (tmp_path / "folder.toml").mkdir()
    (tmp_path / "noise").write_bytes(NOISE)
    (tmp_path / "noise.toml").write_bytes(NOISE)
    (tmp_path / "noise.json").write_bytes(b'{"profile": \xff}')
    (tmp_path / "empty.toml").write_bytes(b"")
    (tmp_path / "large.toml").write_bytes(b"#" * (1 << 20) + b"#")
    (tmp_path / "nul.toml").write_bytes(b'work_order = 1\n\0 = "a"\n')
    return tmp_path


def complaints(told: Told) -> list[str]:
    """The lines on the error stream of a run that ended as bad input does."""
    assert told.code == 2
    assert told.out == ""
    lines = told.err.splitlines()
    assert lines
    assert all(line.startswith("closeout: ") and line.isprintable() for line in lines)
    assert "Traceback" not in told.err
    return lines


@pytest.mark.parametrize(
    ("line", "words"),
    [
        (
            "check --root missing",
            "missing: cannot be read: No such file or directory; give a folder",
        ),
        ("check --root noise", "noise: no folder; give"),
        ("show --root noise", "noise: no folder; give"),
        ("capture --root noise", "noise: no folder; give"),
        ("check --evidence missing", "missing: cannot be read: No such file or directory"),
        ("check --evidence unit", "unit: no evidence in it, that is no file *.jsonl.gz"),
        ("show --evidence noise", "noise: no gzip file, or a damaged one"),
        ("show --evidence empty.toml", "empty.toml: its end is missing"),
        ("check --depot-secret missing", "missing: cannot be read: No such file"),
        ("check --depot-secret unit", "unit: cannot be read: Is a directory"),
        ("check --work-order missing", "missing: cannot be read: No such file or directory"),
        ("check --work-order unit", "unit: not a plain file"),
        ("check --work-order noise", "noise: not UTF-8 text: byte"),
        ("check --work-order nul.toml", "nul.toml:2: a NUL character"),
        ("check --work-order large.toml", "large.toml: larger than 1048576 bytes"),
        ("check --profile missing.toml", "missing.toml: cannot be read: No such file"),
        ("check --profile folder.toml", "folder.toml: not a plain file"),
        ("check --profile noise.toml", "noise.toml: not UTF-8 text"),
        ("check --profile noise.json", "noise.json: not UTF-8 text"),
        ("check --profile noise", "noise: no shipped profile has this id"),
        ("check --profile any-notebok", "did you mean any-notebook?"),
        ("capture --root unit -o noise", "noise: it is there already, and nothing is overwritten"),
        ("capture --root unit -o unit", "unit: it is there already, and nothing is overwritten"),
        ("capture --root unit -o missing/file", "missing/file: No such file or directory"),
        ("capture --root unit -o noise/file", "noise/file: a part of the path is a file"),
    ],
)
def test_one_line_says_what_is_wrong_and_where(place: Path, line: str, words: str) -> None:
    (complaint,) = complaints(call_in(place, *line.split()))
    assert words in complaint
    assert not (place / "closeout-reports").exists()


def test_a_missing_folder_for_the_output_is_named(place: Path) -> None:
    (complaint,) = complaints(call_in(place, "capture", "--root", "unit", "-o", "a/b"))
    assert "the evidence was not written: cannot write" in complaint


@pytest.mark.parametrize("order_first", [True, False])
def test_every_mistake_has_its_line(place: Path, *, order_first: bool) -> None:
    (place / "order.toml").write_text('work_order = 1\nordre = "T-1"\nrepairs = ["wheel"]\n')
    (place / "profile.toml").write_text('profile = 1\nid = "a/b"\nrevison = "1"\n')
    files = ["--work-order", "order.toml", "--profile", "profile.toml"]
    arguments = files if order_first else files[2:] + files[:2]
    lines = complaints(call_in(place, "check", "--root", "unit", *arguments))
    assert len(lines) == len(set(lines)) >= 5
    assert sum(line.startswith("closeout: order.toml:") for line in lines) >= 3
    assert sum(line.startswith("closeout: profile.toml:") for line in lines) >= 2
    assert any("did you mean order?" in line for line in lines)


def test_the_lint_says_the_same(place: Path) -> None:
    (place / "order.toml").write_text('work_order = 1\nordre = "T-1"\nrepairs = ["wheel"]\n')
    said = complaints(call_in(place, "check", "--root", "unit", "--work-order", "order.toml"))
    told = call_in(place, "profile", "lint", "order.toml")
    assert (told.code, told.err) == (2, "")
    assert [f"closeout: {line}" for line in told.out.splitlines()] == said


def test_lint_looks_at_every_file(place: Path) -> None:
    (place / "order.toml").write_text(ORDER)
    told = call_in(place, "profile", "lint", "order.toml", "missing", "unit", "noise", "order.toml")
    assert told.code == 2
    assert [line.split(":")[0] for line in told.out.splitlines()] == ["missing", "unit", "noise"]
    sound = call_in(place, "profile", "lint", "order.toml", "order.toml")
    assert (sound.code, sound.out) == (0, "no mistakes in 2 files\n")


def test_an_order_that_names_an_unknown_profile_is_named(place: Path) -> None:
    (place / "order.toml").write_text(ORDER + 'profile = "northlake/fen-41"\n')
    arguments = ("check", "--root", "unit", "--work-order", "order.toml")
    (complaint,) = complaints(call_in(place, *arguments))
    assert complaint.startswith("closeout: order.toml: profile: northlake/fen-41: no shipped")
    assert "did you mean northlake/fen-14?" in complaint
    assert call_in(place, *arguments, "--profile", "any-notebook").code == 3


def spoilt(raw: bytes) -> dict[str, tuple[bytes, str]]:
    """What can happen to an evidence file, and the words for it."""
    lines = gzip.decompress(raw)
    return {
        "end cut": (raw[:-9], "its end is missing"),
        "half": (raw[: len(raw) // 2], "its end is missing"),
        "sum": (raw[:-6] + b"\xff" + raw[-5:], "a damaged one"),
        "more": (raw + b"more", "something follows its end"),
        "twice": (raw + raw, "something follows its end"),
        "unpacked": (lines, "no gzip file"),
        "nothing": (gzip.compress(b""), "its last line has no end"),
        "another JSON": (gzip.compress(b"{}\n"), "line 1: no evidence of closeout"),
        "deep": (gzip.compress(b"[" * 100_000 + b"\n"), "line 1: "),
        "noise": (gzip.compress(NOISE), "capture again"),
        "packed twice": (gzip.compress(raw), "capture again"),
        "a line more": (gzip.compress(lines + b"{}\n"), "line"),
    }


DRAWN = evidence_file.encode_evidence(record(DrawnTree()))


@pytest.mark.parametrize("how", spoilt(DRAWN))
def test_damaged_evidence(place: Path, how: str) -> None:
    content, words = spoilt(DRAWN)[how]
    (place / "evidence.gz").write_bytes(content)
    for command in ("check", "show"):
        (complaint,) = complaints(call_in(place, command, "--evidence", "evidence.gz"))
        assert words in complaint
        assert "evidence.gz" in complaint


@pytest.mark.parametrize("version", [b"0", b"2", b"99999999999999999999"])
def test_evidence_of_another_version_says_so(place: Path, version: bytes) -> None:
    lines = evidence_file.encode_lines(record(DrawnTree()))
    start = b'{"closeout_evidence":1'
    assert start in lines, "the version stands in the header"
    changed = lines.replace(start, b'{"closeout_evidence":' + version, 1)
    (place / "evidence.gz").write_bytes(gzip.compress(changed))
    (complaint,) = complaints(call_in(place, "check", "--evidence", "evidence.gz"))
    assert "version" in complaint or "format" in complaint


def test_evidence_that_unpacks_to_a_flood_is_refused(place: Path) -> None:
    (place / "bomb.gz").write_bytes(gzip.compress(bytes(70 << 20), compresslevel=1))
    (complaint,) = complaints(call_in(place, "check", "--evidence", "bomb.gz"))
    assert "more than 64 MiB in it" in complaint


def test_a_huge_file_is_not_read_whole(place: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    with (place / "huge").open("wb") as stream:
        stream.truncate(1 << 40)  # a hole: it takes no room
    monkeypatch.setattr(source, "LARGEST_EVIDENCE", 1 << 20)
    monkeypatch.setattr(decode, "LARGEST_FILE", 1 << 20)
    for line in ("check --evidence huge", "show --depot-secret huge", "check --work-order huge"):
        (complaint,) = complaints(call_in(place, *line.split()))
        assert "larger than" in complaint
    told = call_in(place, "decode", "edid", "huge")
    assert told.out == '{"file": "huge", "error": "larger than 1048576 bytes"}\n'
    assert call_in(place, "profile", "lint", "huge").out.startswith("huge: larger than")


@pytest.mark.parametrize("name", ["a\0b", "\0", "\ud800", ""])
@pytest.mark.parametrize(
    "line",
    [
        *("check --root", "check --evidence", "check --out", "check --profile", "show --evidence"),
        *("check --work-order", "check --depot-secret", "capture -o", "decode edid"),
        *("profile lint", "demo --out"),
    ],
)
def test_names_that_no_file_can_have(place: Path, line: str, name: str) -> None:
    (complaint,) = complaints(call_in(place, *line.split(), name))
    assert "no name that a file can have" in complaint


@pytest.mark.parametrize("name", ["a\nb", "\x1b[2J", "\u202e", "x" * 300, "n\udcff", "[/red]", " "])
def test_odd_names_stay_on_their_line(place: Path, name: str) -> None:
    for line in (
        *("check --root", "check --evidence", "check --work-order", "check --depot-secret"),
        *("show --root", "show --evidence"),
    ):
        (complaint,) = complaints(call_in(place, *line.split(), name))
        assert len(complaint) < 3000
    told = call_in(place, "profile", "lint", name)
    assert told.code == 2
    assert told.out.count("\n") == 1
    assert told.out[:-1].isprintable()


@pytest.mark.parametrize("encoding", ["ascii", "latin-1"])
def test_names_that_the_terminal_cannot_show(place: Path, encoding: str) -> None:
    told = call_in(place, "check", "--root", "unit", "--work-order", "漢.toml", encoding=encoding)
    assert r"\u6f22.toml: cannot be read" in complaints(told)[0]
    lint = call_in(place, "profile", "lint", "漢.toml", encoding=encoding)
    assert lint.out.startswith(r"\u6f22.toml: cannot be read")
    kept = call_in(place, "capture", "--root", "unit", "-o", "漢.gz", encoding=encoding)
    assert r"\u6f22.gz" in kept.out


@settings(max_examples=25)
@given(raw=st.binary(max_size=200))
def test_any_bytes_as_any_file(raw: bytes, tmp_path_factory: pytest.TempPathFactory) -> None:
    place = tmp_path_factory.mktemp("any")
    (place / "unit").mkdir()
    file = place / "file.toml"
    file.write_bytes(raw)
    unit = ("--root", place / "unit")
    complaints(call_in(place, "check", *unit, "--work-order", file))
    complaints(call_in(place, "check", *unit, "--profile", file))
    complaints(call_in(place, "check", "--evidence", file))


def test_a_folder_that_is_no_machine_is_undecided_and_no_error(place: Path) -> None:
    told = call_in(place, "check", "--root", "unit")
    assert (told.code, told.err) == (3, "")


def test_links_that_go_round_and_pipes_cost_their_reading_alone(place: Path) -> None:
    unit = healthy(place / "odd")
    serial = unit / "sys/class/dmi/id/product_serial"
    serial.unlink()
    serial.symlink_to("product_serial")
    told = call_in(place, "check", "--root", "odd")
    assert (told.code, told.err) == (0, "")
    assert "ELOOP" in call_in(place, "show", "--root", "odd", "--json").out
