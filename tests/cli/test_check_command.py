"""`closeout check`: what it writes, what it says, and where it says it."""

import gzip
import json
import re
from collections.abc import Callable
from pathlib import Path

import pytest
from jsonschema import Draft202012Validator

from closeout.cli import source
from closeout.expect.shipped import shipped_folder
from closeout.kernel import evidence_file
from closeout.kernel.evidence_file import decode_evidence, encode_lines
from closeout.report.as_json import render_json
from closeout.report.from_json import load_report
from oracles.web_page import WebPage
from strategies.fen import HEALTHY
from strategies.laid_out import healthy
from strategies.surroundings import Told, call_in

SCHEMA = Draft202012Validator(
    json.loads((shipped_folder("reports") / "report-1.schema.json").read_text("utf-8"))
)
ORDER = 'work_order = 1\norder = "T-77"\nprofile = "{profile}"\n[unit]\nserial = "{serial}"\n'

Check = Callable[..., Told]


@pytest.fixture
def check(tmp_path: Path) -> Check:
    """`closeout check --root UNIT`, where the unit is the healthy notebook."""
    unit = healthy(tmp_path / "unit")

    def call(*arguments: object, encoding: str = "utf-8", terminal: bool = False) -> Told:
        return call_in(
            *(tmp_path, "check", "--root", unit, *arguments), encoding=encoding, terminal=terminal
        )

    return call


def attempts(folder: Path, order: str = "no-order") -> list[Path]:
    return sorted((folder / "closeout-reports" / order).iterdir())


def write_order(folder: Path, **content: str) -> Path:
    file = folder / "order.toml"
    file.write_text(ORDER.format(**{"profile": "any-notebook", "serial": "NW83KD20", **content}))
    return file


def test_the_attempt_holds_report_page_and_evidence(check: Check, tmp_path: Path) -> None:
    told = check()
    assert told.code == 0
    (attempt,) = attempts(tmp_path)
    assert sorted(file.name for file in attempt.iterdir()) == [
        *("evidence.jsonl.gz", "report.html", "report.json"),
    ]
    assert told.err == ""
    assert told.out.splitlines()[-1] == f"Report: {attempt}"
    assert "RELEASE" in told.out.splitlines()[0]


def test_the_report_is_sound(check: Check, tmp_path: Path) -> None:
    check()
    (attempt,) = attempts(tmp_path)
    raw = (attempt / "report.json").read_bytes()
    SCHEMA.validate(json.loads(raw))
    report = load_report(raw)
    assert render_json(report) == raw
    assert report.circumstances.started.text == "2026-11-20T12:00:00Z"
    assert "unproven" in report.circumstances.started.source
    page = WebPage.of((attempt / "report.html").read_text("utf-8"))
    assert "NW83KD20" in " ".join(page.text)


def test_the_evidence_beside_it_is_the_one_it_rests_on(check: Check, tmp_path: Path) -> None:
    check()
    (attempt,) = attempts(tmp_path)
    raw = (attempt / "evidence.jsonl.gz").read_bytes()
    report = load_report((attempt / "report.json").read_bytes())
    evidence = decode_evidence(raw)
    assert evidence_file.digest_evidence(evidence) == report.circumstances.evidence_digest
    assert encode_lines(evidence) == gzip.decompress(raw)
    assert len(evidence.records) == report.circumstances.readings


def test_evidence_judged_again_gives_the_same_report(check: Check, tmp_path: Path) -> None:
    check()
    (first,) = attempts(tmp_path)
    told = call_in(tmp_path, "check", "--evidence", first / "evidence.jsonl.gz", "--json")
    assert told.code == 0
    then, now = json.loads((first / "report.json").read_bytes()), json.loads(told.raw)
    assert then["circumstances"].pop("attempt") == 1
    assert now["circumstances"].pop("attempt") == 2
    assert then == now
    second = attempts(tmp_path)[1]
    copies = [(one / "evidence.jsonl.gz").read_bytes() for one in (first, second)]
    assert copies[0] == copies[1]


def test_attempts_count_up_and_nothing_is_overwritten(check: Check, tmp_path: Path) -> None:
    kept: dict[Path, bytes] = {}
    for number in range(1, 5):
        check()
        assert [path.name[:12] for path in attempts(tmp_path)] == [
            f"attempt-{count:04d}" for count in range(1, number + 1)
        ]
        for file, content in kept.items():
            assert file.read_bytes() == content
        kept = {file: file.read_bytes() for one in attempts(tmp_path) for file in one.iterdir()}
    numbers = [load_report((one / "report.json").read_bytes()) for one in attempts(tmp_path)]
    assert [report.circumstances.attempt for report in numbers] == [1, 2, 3, 4]


def test_attempts_are_counted_for_each_order(check: Check, tmp_path: Path) -> None:
    check()
    told = check("--work-order", write_order(tmp_path))
    assert "Order: T-77, attempt 1" in told.out
    assert len(attempts(tmp_path, "T-77")) == len(attempts(tmp_path)) == 1


def test_what_the_order_says_is_judged(check: Check, tmp_path: Path) -> None:
    assert check("--work-order", write_order(tmp_path)).code == 0
    told = check("--work-order", write_order(tmp_path, serial="NW83KD21"))
    assert told.code == 1
    assert "NW83KD21" in told.out
    raw = (attempts(tmp_path, "T-77")[1] / "report.json").read_bytes()
    assert load_report(raw).circumstances.work_order is not None


def test_a_profile_by_id_and_by_file(check: Check, tmp_path: Path) -> None:
    assert check("--profile", "any-notebook").code == 0
    strict = tmp_path / "strict.toml"
    shipped = (shipped_folder("profiles") / "northlake" / "fen-14.toml").read_text("utf-8")
    strict.write_text(shipped, "utf-8")
    told = check("--profile", strict, "--json")
    assert told.code == 1
    assert json.loads(told.raw)["circumstances"]["profile"]["name"] == "northlake/fen-14"
    assert check("--profile", "northlake/fen-14").code == 1


def test_a_named_profile_comes_before_the_orders(check: Check, tmp_path: Path) -> None:
    order = write_order(tmp_path, profile="northlake/fen-14")
    assert check("--work-order", order).code == 1
    assert check("--work-order", order, "--profile", "any-notebook").code == 0


def test_the_unit_itself_chooses_its_profile(tmp_path: Path) -> None:
    unit = healthy(tmp_path / "unit", maker="Northlake", product="Fen 14")
    told = call_in(tmp_path, "check", "--root", unit, "--json")
    assert json.loads(told.raw)["circumstances"]["profile"]["name"] == "northlake/fen-14"


@pytest.mark.parametrize("out", ["elsewhere", "deep/er/still", "."])
def test_out_is_the_folder_of_the_reports(check: Check, tmp_path: Path, out: str) -> None:
    assert check("--out", out).code == 0
    assert check("--out", (tmp_path / out).absolute()).code == 0
    assert len(list((tmp_path / out / "no-order").iterdir())) == 2
    assert not (tmp_path / "closeout-reports").exists()


@pytest.mark.parametrize("encoding", ["utf-8", "ascii", "latin-1", "utf-16"])
def test_json_is_the_bytes_of_the_report_and_nothing_else(
    check: Check, tmp_path: Path, encoding: str
) -> None:
    told = check("--json", encoding=encoding)
    assert (told.code, told.raw_errors) == (0, b"")
    (attempt,) = attempts(tmp_path)
    assert told.raw == (attempt / "report.json").read_bytes()


def test_json_never_changes_with_terminal_or_quiet(
    check: Check, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    check()
    evidence = attempts(tmp_path)[0] / "evidence.jsonl.gz"
    kept: list[bytes] = []
    for number, (quiet, terminal, columns) in enumerate(
        [
            ((), False, "80"),
            (("--quiet",), False, "40"),
            ((), True, "20"),
            (("--quiet",), True, "9"),
        ]
    ):
        monkeypatch.setenv("COLUMNS", columns)
        monkeypatch.setenv("FORCE_COLOR", "1")
        out = ("--out", str(number))
        told = call_in(
            tmp_path, "check", "--evidence", evidence, "--json", *quiet, *out, terminal=terminal
        )
        kept.append(told.raw)
    assert kept == [kept[0]] * 4


@pytest.mark.parametrize("serial", ["NW83KD20", " "])
def test_quiet_is_one_line(tmp_path: Path, serial: str, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("COLUMNS", "40")
    unit = healthy(tmp_path / "unit", serial=serial)
    told = call_in(tmp_path, "check", "--root", unit, "--quiet", terminal=False)
    assert (told.out.count("\n"), told.err) == (1, "")
    verdict = "RELEASE" if serial.strip() else "HOLD"
    assert told.out.startswith(f"{verdict}; order none attempt 1; ")
    assert len(attempts(tmp_path)) == 1


def test_progress_is_for_a_terminals_error_stream(check: Check) -> None:
    shown = check(terminal=True)
    assert "reading " in shown.err
    last = shown.err.split("\r")[-2:]
    assert [part.strip() for part in last] == ["", ""], "the line is wiped at the end"
    assert not re.search(r"reading \d+/\d", shown.out)
    assert check("--json", terminal=True).err.startswith("\rreading ")
    for quiet in (check("--quiet", terminal=True), check(terminal=False)):
        assert quiet.err == ""


def test_redacted_reports_have_no_serials_and_no_evidence(check: Check, tmp_path: Path) -> None:
    told = check("--redact")
    (attempt,) = attempts(tmp_path)
    assert sorted(file.name for file in attempt.iterdir()) == ["report.html", "report.json"]
    written = b"".join(file.read_bytes() for file in attempt.iterdir()) + told.raw
    personal = (HEALTHY.serial, HEALTHY.board_serial, HEALTHY.drive_serial, str(HEALTHY.uuid))
    for serial in (*personal, "3c:1a:9e:40:62:d7"):
        assert serial is not None
        assert serial.encode() not in written
    assert b"Slate" in written
    report = json.loads((attempt / "report.json").read_bytes())
    SCHEMA.validate(report)
    assert report["redacted"] is True
    assert (told.code, report["verdict"]) == (0, "release")
    clear = check()
    assert HEALTHY.serial is not None
    assert HEALTHY.serial in clear.out


def test_the_depots_secret_makes_the_token(check: Check, tmp_path: Path) -> None:
    secret = tmp_path / "secret"
    secret.write_bytes(b"a secret of the depot\n")
    assert "hmac-sha256:" in check("--depot-secret", secret, "--json").out
    assert "hmac-sha256:" not in check("--json").out


@pytest.mark.parametrize("content", [b"", b"\n \n", b"fifteen bytes..", b"x" * 4097])
def test_a_secret_too_short_or_too_long_is_refused(
    check: Check, tmp_path: Path, content: bytes
) -> None:
    (tmp_path / "secret").write_bytes(content)
    told = check("--depot-secret", tmp_path / "secret")
    assert (told.code, told.out, told.err.count("\n")) == (2, "", 1)
    assert not (tmp_path / "closeout-reports").exists()


@pytest.mark.parametrize("form", [(), ("--json",), ("--quiet",)])
def test_where_nothing_can_be_written_the_verdict_is_said_all_the_same(
    check: Check, tmp_path: Path, form: tuple[str, ...]
) -> None:
    (tmp_path / "way").write_text("a file in the way")
    told = check("--out", tmp_path / "way" / "reports", *form)
    assert told.code == 2
    assert "release" in told.out.lower()
    assert told.err.count("\n") == 1
    assert "the report was not written: " in told.err
    assert "choose another folder" in told.err
    assert "Report:" not in told.out


@pytest.mark.parametrize("limit", ["MOST_LINES", "LARGEST", "LONGEST_LINE"])
def test_evidence_too_large_to_be_kept_is_said_after_the_verdict(
    check: Check, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, limit: str
) -> None:
    monkeypatch.setattr(evidence_file, limit, 100)
    told = check()
    assert told.code == 2
    assert told.out.startswith("✓ RELEASE")
    assert "the report was not written: evidence: more than" in told.err
    assert not (tmp_path / "closeout-reports").exists()


@pytest.mark.parametrize("encoding", ["utf-8", "ascii", "cp437"])
@pytest.mark.parametrize("columns", ["40", "1"])
def test_words_fit_any_terminal(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, encoding: str, columns: str
) -> None:
    monkeypatch.setenv("COLUMNS", columns)
    unit = healthy(tmp_path / "unit", maker="Ægir 漢字", serial=" ")
    for arguments in (("check", "--out", "Berichte-ü"), ("check", "--quiet"), ("show",)):
        told = call_in(tmp_path, *arguments, "--root", unit, encoding=encoding)
        assert told.code == (1 if "check" in arguments else 0)
        assert told.err == ""
        assert "gir" in told.out.replace("\n", "") or "--quiet" in arguments


def test_no_color_is_obeyed_and_a_dumb_terminal_too(
    check: Check, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.delenv("NO_COLOR", raising=False)
    monkeypatch.setenv("TERM", "xterm-256color")
    assert "\x1b[1;32m" in check(terminal=True).out
    assert "\x1b" not in check(terminal=False).out
    monkeypatch.setenv("NO_COLOR", "1")
    assert "\x1b[1;32m" not in check(terminal=True).out
    assert "RELEASE" in check(terminal=True).out


def test_the_clock_of_the_recording_is_the_only_one_handed_in(
    check: Check, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    """The same readings that take the same time give the same bytes."""
    monkeypatch.setattr(source.time, "monotonic_ns", lambda: 0)
    first = check("--json", "--out", tmp_path / "a")
    assert first.raw == check("--json", "--out", tmp_path / "b").raw
