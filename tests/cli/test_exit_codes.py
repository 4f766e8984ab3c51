"""Every command with every way it can end."""

import re
from pathlib import Path
from types import ModuleType

import pytest

from closeout.cli import (
    answer,
    capture,
    check,
    concede,
    decode,
    demo,
    depot,
    field,
    guide,
    main,
    media,
    profiles,
    show,
    station,
    unrun,
)
from closeout.cli import order as order_command
from closeout.cli import repairs as repairs_command
from closeout.cli import report as report_command
from closeout.cli.main import COMMANDS, make_parser
from strategies.edid import EdidPlan, build_edid
from strategies.laid_out import healthy
from strategies.surroundings import call_in

REFERENCE = ("--reference-time", "--time-source")
OPTIONS = {
    "check": {
        *("--work-order", "--profile", "--root", "--evidence", "--out", "--json", "--quiet"),
        *("--redact", "--depot-secret", *REFERENCE),
        *("--no-questions", "--again", "--reopened", "--draft", "--repair"),
        *("--order", "--orders", "--label", "--operator", "--station", "--stick"),
        *("--scan", "--no-scan", "--station-key", "--passphrase", "--lead"),
    },
    "guide": {"--root", "--orders", "--profile", "--out", "--keep"},
    "answer": {"--by", "--reason", "--station-key", "--passphrase"},
    "concede": {"--by", "--reason", "--station-key", "--passphrase"},
    "order": set[str](),
    "repairs": set[str](),
    "unrun": {
        *("--order", "--reason", "--by", "--note", "--station", "--out"),
        *("--station-key", "--passphrase"),
    },
    "report": set[str](),
    "station": set[str](),
    "show": {"--root", "--evidence", "--json", "--depot-secret", *REFERENCE},
    "capture": {"--root", "-o", "--quiet", "--depot-secret", *REFERENCE},
    "decode": set[str](),
    "field": {"--field", "--order"},
    "profile": set[str](),
    "depot": set[str](),
    "media": set[str](),
    "demo": {"--out"},
}
SMALLEST_CALLS: dict[ModuleType, tuple[str, ...]] = {
    check: ("check", "--root", "unit"),
    guide: ("guide", "--root", "unit"),
    answer: ("answer", "gone", "1", "yes", "--by", "T1", "--reason", "seen"),
    concede: ("concede", "gone", "1", "--by", "L1", "--reason", "accepted"),
    order_command: ("order", "card"),
    repairs_command: ("repairs",),
    unrun: ("unrun", "--order", "T-1", "--reason", "locked", "--by", "T1"),
    report_command: ("report", "verify", "gone", "--stations", "."),
    station: ("station", "init", "new", "--code", "B-07"),
    show: ("show", "--root", "unit"),
    capture: ("capture", "--root", "unit"),
    decode: ("decode", "edid", "panel"),
    field: ("field", "--order"),
    profiles: ("profile", "lint", "order.toml"),
    depot: ("depot", "set-aside"),
    media: ("media", "card"),
    demo: ("demo",),
}
USAGE_ERRORS = (
    "",
    "nonsense",
    "--verbose",
    "check --root",
    "check --root a --evidence b",
    "check --nonsense",
    "check stray",
    "check --again",
    "check --root a --reopened",
    "guide --nonsense",
    "answer",
    "answer gone 1 perhaps --by T --reason x",
    "answer gone 1 yes --by T",
    "concede gone 1 --reason x",
    "check --root a --order",
    "check --root a --scan --no-scan",
    "unrun",
    "unrun --order T-1 --by T",
    "unrun --order T-1 --by T --reason tired",
    "report",
    "report nonsense",
    "report verify",
    "report pdf",
    "report label",
    "report label gone --format gif",
    "report label gone --dpi many",
    "station",
    "station init",
    "station init new",
    "station list",
    "station revoke record",
    "check --root a --station-key",
    "check --evidence",
    "show --quiet",
    "show --root a --evidence b",
    "capture --evidence a",
    "capture --json",
    "decode",
    "decode edid",
    "decode nonsense file",
    "field",
    "field --field a --order",
    "field --field",
    "profile",
    "profile lint",
    "profile nonsense file",
    "depot",
    "depot nonsense",
    "depot add",
    "depot add --ledger a",
    "depot unit",
    "depot unit a b",
    "depot summary --days soon",
    "depot collisions --weeks many",
    "depot export",
    "depot backup",
    "depot restore a b",
    "depot forget --older-than soon",
    "depot check",
    "media",
    "media nonsense",
    "media reports",
    "media build stray",
    "media verify",
    "demo --json",
)


UNRUN = (
    '{"unrun": 1, "agent": "a", "order": "T-1", "number": 1, "reason": "locked", "note": "",'
    ' "by": "T", "station": "", "at": {"text": "2026-11-20T10:00:00Z", "source": "typed"}}'
)


@pytest.fixture
def place(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A folder with something sound for each command, which is also the current one."""
    healthy(tmp_path / "unit")
    healthy(tmp_path / "nameless", serial=" ")
    (tmp_path / "empty").mkdir()
    (tmp_path / "panel").write_bytes(build_edid(EdidPlan()))
    (tmp_path / "noise").write_bytes(b"\x93noise")
    (tmp_path / "unrun.json").write_text(UNRUN)
    (tmp_path / "order.toml").write_text('work_order = 1\norder = "T-1"\n')
    monkeypatch.chdir(tmp_path)
    return tmp_path


def test_every_command_is_tested_here() -> None:
    called = {module.__name__ for module in SMALLEST_CALLS}
    assert called == {f"closeout.cli.{module}" for _, module, _ in COMMANDS}
    assert set(OPTIONS) == {name for name, _, _ in COMMANDS}


@pytest.mark.parametrize("command", OPTIONS)
def test_the_options_of_a_command(command: str, capsys: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(SystemExit) as ending:
        make_parser().parse_args([command, "--help"])
    assert ending.value.code == 0
    told = re.findall(r"(?<!\S)\[?(--?[a-z-]+)", capsys.readouterr().out)
    assert set(told) - {"-h", "--help"} == OPTIONS[command]


@pytest.mark.parametrize(
    ("line", "code"),
    [
        ("check --root unit", 0),
        ("check --root unit --work-order order.toml", 0),
        ("check --root nameless", 1),
        ("check --root noise", 2),
        ("check --root missing", 2),
        ("check --root empty", 3),
        ("check --root unit --draft", 0),
        ("check --root unit --again missing", 2),
        ("check --root unit --reopened battery", 2),
        ("guide --root unit", 2),
        ("answer missing 1 yes --by T --reason x", 2),
        ("concede missing 1 --by L --reason x", 2),
        ("check --root unit --order T-2", 0),
        ("check --root unit --order T-2 --label OTHER", 1),
        ("check --root unit --order ../T", 2),
        ("check --root unit --scan", 2),
        ("unrun --order T-1 --by T --reason no-boot", 0),
        ("unrun --order ../T --by T --reason no-boot", 2),
        ("report verify missing --stations .", 2),
        ("report verify missing", 2),
        ("report verify noise --stations .", 2),
        ("report pdf missing", 2),
        ("report pdf noise --out new.pdf", 2),
        ("report pdf noise", 2),
        ("report label missing", 2),
        ("report label missing --size 62", 2),
        ("report label missing --size 9x9", 2),
        ("report label missing --dpi 10", 2),
        ("station init new --code B-07", 0),
        ("station init new --code ?", 2),
        ("station list .", 2),
        ("station list empty", 0),
        ("station revoke missing --reason lost", 2),
        ("check --root unit --station-key empty", 2),
        ("check --evidence empty", 2),
        ("check --evidence noise noise", 2),
        ("show --root unit", 0),
        ("show --root nameless", 0),
        ("show --root empty", 0),
        ("show --root missing", 2),
        ("capture --root unit", 0),
        ("capture --root empty", 0),
        ("capture --root missing", 2),
        ("decode edid panel", 0),
        ("decode edid panel noise", 2),
        ("decode msdm noise panel", 2),
        ("field --order", 0),
        ("field --field System/Version", 0),
        ("profile lint order.toml", 0),
        ("profile lint order.toml noise", 2),
        ("depot add empty", 2),
        ("depot add missing", 2),
        pytest.param("depot add unrun.json", 0, marks=pytest.mark.wheel_oracle),
        ("depot add unrun.json --require-seal", 2),
        ("depot add unrun.json --stations missing", 2),
        ("depot add unrun.json --ledger mysql://host/x", 2),
        ("depot add unrun.json --ledger noise", 2),
        ("depot unit T-1", 2),
        ("depot summary", 2),
        ("depot summary --export missing", 2),
        ("depot collisions", 2),
        ("depot collisions --spark local", 2),
        ("depot set-aside", 2),
        ("depot export out", 2),
        ("depot backup out", 2),
        ("depot restore missing", 2),
        ("depot forget T-1 --reason x", 2),
        ("depot check empty", 2),
        ("depot check noise", 2),
        ("media card", 0),
        ("media card --text", 0),
        ("media card --out order.toml", 2),
        ("media reports .", 0),
        ("media reports missing", 2),
        ("media update .", 2),
        ("demo", 0),
    ],
)
def test_how_a_command_ends(place: Path, line: str, code: int) -> None:
    assert call_in(place, *line.split()).code == code


@pytest.mark.parametrize("line", USAGE_ERRORS)
def test_wrong_usage_ends_with_2(
    tmp_path: Path, line: str, capsys: pytest.CaptureFixture[str]
) -> None:
    told = call_in(tmp_path, *line.split())
    assert (told.code, told.raw, told.raw_errors) == (2, b"", b"")
    captured = capsys.readouterr()
    assert captured.out == ""
    assert captured.err.startswith("usage: closeout")
    assert "error: " in captured.err


@pytest.mark.parametrize("line", ["--version", "--help", "check --help", "profile lint --help"])
def test_what_is_asked_of_the_parser_ends_with_0(
    tmp_path: Path, line: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert call_in(tmp_path, *line.split()).code == 0
    assert "closeout" in capsys.readouterr().out


@pytest.mark.parametrize(
    ("fault", "code", "told"),
    [
        (
            RuntimeError("odd\nTraceback\x1b[2J"),
            4,
            r"an error of closeout itself (RuntimeError: odd\x0aTraceback\x1b[2J)",
        ),
        (KeyError("gone"), 4, "an error of closeout itself (KeyError: 'gone')"),
        (PermissionError(1, "not so", "/some/file"), 4, "an error of closeout itself"),
        (MemoryError(), 4, "an error of closeout itself (MemoryError: )"),
        (OSError(28, "No space left on device"), 2, "takes no more: No space left on device"),
        (KeyboardInterrupt(), 130, "stopped by the operator"),
    ],
)
@pytest.mark.parametrize("module", SMALLEST_CALLS, ids=lambda module: module.__name__)
def test_a_fault_is_one_line_and_no_traceback(
    module: ModuleType,
    fault: BaseException,
    code: int,
    told: str,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    def broken(*_: object) -> None:
        raise fault

    monkeypatch.setattr(module, "run", broken)
    ended = call_in(tmp_path, *SMALLEST_CALLS[module])
    assert (ended.code, ended.out) == (code, "")
    (line,) = ended.err.splitlines()
    assert line.startswith("closeout: ")
    assert told in line


def test_a_key_in_a_fault_is_masked(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def broken(*_: object) -> None:
        raise ValueError("BCDFG-HJKMP-QRTVW-XY234-6789N")

    monkeypatch.setattr(show, "run", broken)
    told = call_in(tmp_path, "show", "--root", tmp_path)
    assert "(ValueError: *****-*****-*****-*****-6789N)" in told.err


def test_an_interrupt_while_a_command_loads(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def interrupted(*_: object) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr(main, "import_module", interrupted)
    told = call_in(tmp_path, "show")
    assert told.code == 130
    assert told.err == f"closeout: {main.STOPPED}\n"


def test_an_interrupt_while_reading(place: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def interrupted(*_: object) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr("closeout.kernel.capture.record_folder", interrupted)
    told = call_in(place, "check", "--root", "unit")
    assert told.code == 130
    assert told.out == ""
    assert not (place / "closeout-reports").exists()
