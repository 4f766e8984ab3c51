"""`closeout report verify`: who sealed a report, whether it is unchanged, and what it is now."""

import json
import re
import shutil
import subprocess
from collections.abc import Callable
from datetime import UTC, datetime
from pathlib import Path

import pytest

from closeout.cli import judged_again, report_verify, sealing
from closeout.cli.report_verify import NOT_SHOWN
from closeout.cli.station_records import load_station
from oracles import openssl
from strategies.surroundings import Told, call_in
from strategies.written_attempt import write_demo

WRITTEN = datetime(2026, 11, 25, 8, tzinfo=UTC)
INTACT = "Intact: not a byte has changed since station B-07 sealed it."
THERE = "Evidence: what lies beside it is what it names."
SAME = "Judged again by closeout 0.1.0: hold, the same findings."
FIRST = "Report of DEMO-3102, attempt 1: hold, 2026-11-20T09:00:19Z."


@pytest.fixture(autouse=True)
def _no_station(monkeypatch: pytest.MonkeyPatch) -> None:
    for name in (sealing.FOLDER, sealing.PASSPHRASE, report_verify.STATIONS):
        monkeypatch.delenv(name, raising=False)


@pytest.fixture
def attempt(tmp_path: Path) -> Path:
    """Sealed by B-07, whose record is known."""
    make_station(tmp_path, "B-07")
    return write_demo(tmp_path, "--station-key", tmp_path / "B-07")


def make_station(folder: Path, code: str, *, first: str = "2026-11-01") -> None:
    days = ("--first-day", first, "--last-day", "2027-11-01")
    call_in(folder, "station", "init", folder / code, "--code", code, *days)
    (folder / "known").mkdir(exist_ok=True)
    shutil.copyfile(folder / code / "station.toml", folder / "known" / f"{code}.toml")


def verify(attempt: Path) -> Told:
    known = attempt.parents[2] / "known"
    return call_in(attempt, "report", "verify", attempt, "--stations", known)


def lines(told: Told) -> list[str]:
    assert told.err == ""
    first, *said, last = told.out.splitlines()
    assert first.startswith("Report of DEMO-3102, attempt 1")
    assert last == NOT_SHOWN
    return said


def test_what_a_valid_station_sealed_is_intact(
    attempt: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    told = verify(attempt)
    assert told.code == 0
    assert told.out.splitlines()[0].startswith("Report of DEMO-3102, attempt 1: hold, 2026-11-20T")
    assert lines(told) == [INTACT, THERE, SAME]
    monkeypatch.setenv(report_verify.STATIONS, str(attempt.parents[2] / "known"))
    assert call_in(attempt, "report", "verify", attempt / "report.json").out == told.out


def test_every_answered_revision_verifies_and_is_judged_the_same(attempt: Path) -> None:
    key = ("--station-key", attempt.parents[2] / "B-07")
    said = ("--by", "L1", "--reason", "part on order")
    assert call_in(attempt, "concede", attempt, "1", *said, *key).code == 0
    told = verify(attempt.with_name(f"{attempt.name}-r2"))
    assert told.code == 0
    assert lines(told)[0] == INTACT
    assert lines(told)[2].endswith(", the same findings.")


@pytest.mark.parametrize(
    ("days", "code", "told_of_the_key"),
    [
        (("2026-11-25", "2027-11-01"), 0, ()),
        (("2026-11-01", "2026-11-24"), 2, ("not valid any more on 2026-11-25: until 2026-11-24.",)),
    ],
)
def test_the_key_of_a_revision_is_looked_at_on_the_day_it_was_written(
    attempt: Path, days: tuple[str, str], code: int, told_of_the_key: tuple[str, ...]
) -> None:
    """Not on that of the check: who concedes later may have a younger key, or an expired one."""
    folder = attempt.parents[2]
    make_station(folder, "QA-1")
    key = ("--station-key", folder / "QA-1")
    said = ("--by", "L1", "--reason", "part on order")
    assert call_in(attempt, "concede", attempt, "1", *said, *key, now=WRITTEN).code == 0
    record = folder / "known/QA-1.toml"
    text = record.read_text().replace("2026-11-01", days[0]).replace("2027-11-01", days[1])
    record.write_text(text)
    told = verify(attempt.with_name(f"{attempt.name}-r2"))
    assert told.code == code
    assert lines(told)[0] == INTACT.replace("B-07", "QA-1")
    standing = [line for line in lines(told) if "key was not valid" in line]
    assert len(standing) == len(told_of_the_key)
    assert all(map(str.endswith, standing, told_of_the_key))


@pytest.mark.parametrize(
    ("change", "said"),
    [
        (
            lambda folder: rewrite(folder, b'"hold"', b'"release"'),
            "CHANGED: these are not the bytes that station B-07 sealed.",
        ),
        (
            lambda folder: rewrite(folder, b"\n", b"\n\n", last=True),
            "CHANGED: these are not the bytes that station B-07 sealed.",
        ),
        (
            lambda folder: (folder / "report.jws").unlink(),
            "Not sealed: there is no report.jws beside it.",
        ),
        (lambda folder: (folder / "report.jws").write_text("x"), "report.jws is no seal."),
        (
            lambda folder: (folder.parents[2] / "known/B-07.toml").unlink(),
            "Seal of an unknown key: it is that of none of the 0 station records.",
        ),
    ],
)
def test_what_is_not_as_it_was_sealed_is_said(
    attempt: Path, change: Callable[[Path], object], said: str
) -> None:
    change(attempt)
    told = verify(attempt)
    assert told.code == 2
    assert lines(told)[0].endswith(said)


def rewrite(folder: Path, old: bytes, new: bytes, *, last: bool = False) -> None:
    file = folder / "report.json"
    raw = file.read_bytes()
    assert old in raw
    file.write_bytes(new.join(raw.rsplit(old, 1)) if last else raw.replace(old, new, 1))


def test_a_report_that_another_station_signed_over_is_its_own(attempt: Path) -> None:
    """Whoever changes a report and has a key of their own seals it as themselves."""
    folder = attempt.parents[2]
    make_station(folder, "B-08")
    shutil.rmtree(folder / "closeout-reports")
    again = write_demo(folder, "--station-key", folder / "B-08")
    assert lines(verify(again))[0] == INTACT.replace("B-07", "B-08")


@pytest.mark.parametrize(
    ("station", "code", "said"),
    [
        ('first_day = "2026-11-21"', 2, "not valid yet on 2026-11-20: from 2026-11-21. The clock"),
        ('last_day = "2026-11-19"', 2, "not valid any more on 2026-11-20: until 2026-11-19."),
        ('[revoked]\non = "2026-11-20"\nreason = "lost"', 2, "revoked since 2026-11-20: lost."),
        ('[revoked]\non = "2026-11-21"\nreason = "lost"', 2, "whoever has the key can write any"),
    ],
)
def test_a_station_may_have_been_the_wrong_one(
    attempt: Path, station: str, code: int, said: str
) -> None:
    record = attempt.parents[2] / "known/B-07.toml"
    key = station.split(" = ", maxsplit=1)[0]
    kept = [line for line in record.read_text().splitlines() if not line.startswith(key)]
    if key == "last_day":
        kept = [line.replace("2026-11-01", "2026-01-01") for line in kept]
    record.write_text("\n".join([*kept, station, ""]))
    told = verify(attempt)
    assert told.code == code
    assert lines(told)[0] == INTACT
    assert said in lines(told)[1]


# Evidence


def test_evidence_that_is_missing_broken_or_another_is_said(attempt: Path) -> None:
    evidence = attempt / "evidence.jsonl.gz"
    whole = evidence.read_bytes()
    other = Path(__file__).parents[2] / "profiles/demo/osier-15-worn-pack/unit.jsonl.gz"
    for content, said in (
        (None, "Evidence missing: evidence.jsonl.gz is not beside it"),
        (whole[:-40], "Evidence unusable: "),
        (other.read_bytes(), "Other evidence: what lies beside it is not the evidence"),
    ):
        evidence.unlink()
        if content is not None:
            evidence.write_bytes(content)
        else:
            told = verify(attempt)
            evidence.touch()
        told = verify(attempt) if content is not None else told
        assert told.code == 2
        assert lines(told)[0] == INTACT
        assert lines(told)[1].startswith(said)
        assert len(lines(told)) == 2


def test_a_redacted_copy_has_no_evidence(tmp_path: Path) -> None:
    make_station(tmp_path, "B-07")
    attempt = write_demo(tmp_path, "--station-key", tmp_path / "B-07", "--redact")
    told = verify(attempt)
    assert told.code == 0
    assert lines(told) == [INTACT, "A redacted copy: no evidence belongs beside it."]


def test_without_its_order_it_cannot_be_judged_again(attempt: Path) -> None:
    (attempt / "work-order.toml").unlink()
    told = verify(attempt)
    assert told.code == 0
    assert lines(told)[2] == "It cannot be judged again: the order DEMO-3102 is not beside it."


def test_by_another_order_it_is_not_judged_again(attempt: Path) -> None:
    order = attempt / "work-order.toml"
    order.write_text(order.read_text("utf-8").replace("[unit]", '[unit]\nasset_tag = "A-1"', 1))
    told = verify(attempt)
    assert told.code == 0
    assert lines(told)[:2] == [INTACT, THERE]
    wrong = "what lies beside it is not the order DEMO-3102 that it names"
    assert lines(told)[2] == f"It cannot be judged again: {wrong}."


def test_older_rules_and_profiles_are_named(attempt: Path) -> None:
    raw = json.loads((attempt / "report.json").read_bytes())
    raw["circumstances"]["rules"]["revision"] = "0"
    raw["circumstances"]["profile"]["revision"] = "0"
    raw["circumstances"]["agent"] = "closeout 0.0.9"
    gone = raw["findings"].pop()
    raw["findings"][0]["found"] = "something else"
    (attempt / "report.json").write_text(json.dumps(raw))
    told = verify(attempt)
    said = lines(told)
    assert said[2] == "Judged by closeout 0.0.9: hold; now by closeout 0.1.0: hold."
    assert said[3].startswith("Demanded now and not then: ")
    assert raw["words"][gone["rule"]]["title"] in said[3]
    assert said[4].startswith("Found otherwise: ")
    assert said[5].startswith("Rules then findings 0, now findings ")
    assert said[6].startswith("Profile then northlake/fen-14 0, now northlake/fen-14 ")


OWN = """profile = 1
id = "depot/fen-14"
revision = "{revision}"
title = "Our Fen 14"
inherits = "northlake/fen-14"

[[demand]]
class = "battery"
attribute = "cycle_count"
at_most = {most}
weight = "must"
"""


def test_a_depots_own_profile_is_judged_by_where_its_file_is_given(tmp_path: Path) -> None:
    make_station(tmp_path, "B-07")
    file = tmp_path / "ours.toml"
    file.write_text(OWN.format(revision=3, most=9000))
    attempt = write_demo(tmp_path, "--station-key", tmp_path / "B-07", "--profile", file)
    told = verify(attempt)
    wrong = "its profile depot/fen-14 does not ship; give its file with --profile"
    assert told.code == 0
    assert lines(told) == [INTACT, THERE, f"It cannot be judged again: {wrong}."]
    known = ("--stations", tmp_path / "known", "--profile", file)
    assert lines(call_in(attempt, "report", "verify", attempt, *known)) == [INTACT, THERE, SAME]
    file.write_text(OWN.format(revision=4, most=1))
    said = lines(call_in(attempt, "report", "verify", attempt, *known))
    assert said[2] == "Judged by closeout 0.1.0: hold; now by closeout 0.1.0: hold."
    assert said[3] == "Found otherwise: Charge cycles of the battery (BAT0)."
    assert said[4].startswith("Profile then depot/fen-14 3 on")
    assert "now depot/fen-14 4 on" in said[4]
    file.write_text("profile = 1\n")
    told = call_in(attempt, "report", "verify", attempt, *known)
    assert told.code == 2
    assert "ours.toml" in told.err


def test_many_differences_are_counted(attempt: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    raw = json.loads((attempt / "report.json").read_bytes())
    del raw["findings"][5:]
    (attempt / "report.json").write_text(json.dumps(raw))
    monkeypatch.setattr(judged_again, "MOST_NAMED", 2)
    assert " more." in lines(verify(attempt))[3]


# Bad input


def test_what_is_no_report_is_said_in_one_line(attempt: Path) -> None:
    for content, said in (
        (b"{}", "no report"),
        (b"\xff", "no report"),
        (None, "holds no report.json"),
    ):
        file = attempt / "report.json"
        file.unlink(missing_ok=True)
        if content is not None:
            file.write_bytes(content)
        told = verify(attempt)
        assert told.code == 2
        assert said in told.err
        assert told.err.count("\n") == 1


def test_a_revision_that_is_not_the_newest_is_told(attempt: Path) -> None:
    """What was released may have been answered with no since; it is no fault of the report."""
    key = ("--station-key", attempt.parents[2] / "B-07")
    said = ("--by", "L1", "--reason", "part on order")
    call_in(attempt, "concede", attempt, "1", *said, *key)
    newest = f"{attempt.name}-r2"
    newer = f"Not the newest: {newest} lies beside it, with what was said of the unit since."
    told = verify(attempt)
    assert (told.code, lines(told)[0]) == (0, newer)
    assert lines(verify(attempt.with_name(newest)))[0] == INTACT
    copied = attempt.with_name("copy")
    shutil.copytree(attempt, copied)
    assert lines(verify(copied))[0] == INTACT


def test_what_lies_beside_a_report_or_above_it_is_told_what_is_wanted(attempt: Path) -> None:
    (attempt / "WO-1.json").write_bytes((attempt / "report.json").read_bytes())
    for name in ("WO-1.json", "report.jws", "report.html", "evidence.jsonl.gz"):
        told = verify(attempt / name)
        assert told.code == 2
        assert f"{name}: is neither a document nor a report file off a stick;" in told.err
    told = verify(attempt.parent)
    assert told.code == 2
    assert told.err.endswith("DEMO-3102: holds no report.json; give the folder of one attempt\n")


def test_without_records_of_stations_nothing_is_known(attempt: Path) -> None:
    told = call_in(attempt, "report", "verify", attempt)
    assert told.code == 2
    assert told.err.startswith("closeout: whose seals are known? give --stations DIR")


# Other tools


@pytest.mark.oracle
@pytest.mark.skipif(bool(openssl.reason_to_skip()), reason=openssl.reason_to_skip())
def test_the_shell_lines_of_the_manual_verify_it_without_us(attempt: Path) -> None:
    manual = (Path(__file__).parents[2] / "docs" / "seals.md").read_text("utf-8")
    _, lines = re.findall(r"```sh\n(.*?)```", manual, re.DOTALL)
    key = load_station(attempt.parents[2] / "B-07/station.toml").key
    lines = re.sub(r"^key=.*$", f"key={key}", lines, count=1, flags=re.MULTILINE)

    def run() -> subprocess.CompletedProcess[str]:
        return subprocess.run(
            ("sh", "-e", "-c", lines), cwd=attempt, capture_output=True, text=True, check=False
        )

    assert run().stdout == "Signature Verified Successfully\n"
    rewrite(attempt, b'"hold"', b'"release"')
    assert run().returncode != 0


@pytest.mark.oracle
def test_the_record_in_the_manual_is_one(tmp_path: Path) -> None:
    manual = (Path(__file__).parents[2] / "docs" / "seals.md").read_text("utf-8")
    (record,) = re.findall(r"```toml\n(.*?)```", manual, re.DOTALL)
    (tmp_path / "record.toml").write_text(record)
    assert load_station(tmp_path / "record.toml").code == "B-07"
