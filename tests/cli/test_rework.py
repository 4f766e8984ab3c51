"""`closeout check --again`: what is taken over, what holds, and what has to be given again."""

import shutil
from hashlib import sha256
from pathlib import Path

import pytest

from closeout.expect.repair_map import load_repair_map
from closeout.expect.shipped import shipped_folder
from closeout.model.verdict import Verdict
from closeout.report.failure import StoreError
from strategies.laid_out import healthy
from strategies.surroundings import Told, call_in
from strategies.written_attempt import everything, load, write_demo

CLOCK = "clock.kept_time"
PART = "usb_device.presence"
ORDER = 'work_order = 1\norder = "T-77"\n{repairs}\n[unit]\nserial = "{serial}"\n'


@pytest.fixture
def unit(tmp_path: Path) -> Path:
    return healthy(tmp_path / "unit")


def check(folder: Path, *arguments: object) -> Told:
    return call_in(folder, "check", "--root", folder / "unit", *arguments)


def attempts(folder: Path, order: str) -> list[Path]:
    return sorted((folder / "closeout-reports" / order).iterdir())


def first(folder: Path, *arguments: object, serial: str = "NW83KD20", repairs: str = "") -> Path:
    (folder / "o.toml").write_text(ORDER.format(serial=serial, repairs=repairs))
    assert check(folder, "--work-order", folder / "o.toml", *arguments).code in {0, 1, 3}
    return attempts(folder, "T-77")[0]


def say_no(attempt: Path, finding: str) -> Path:
    """The revision in which the finding is answered no and conceded."""
    who = ("--by", "L. Arden", "--reason", "seen")
    assert call_in(attempt, "answer", attempt, finding, "no", *who).code == 0
    return attempt.with_name(f"{attempt.name}-r2")


@pytest.mark.usefixtures("unit")
def test_the_next_attempt_takes_order_and_place_over(tmp_path: Path) -> None:
    before = first(tmp_path, serial="OTHER123", repairs='repairs = ["battery"]')
    (tmp_path / "o.toml").unlink()
    told = call_in(before, "check", "--root", tmp_path / "unit", "--again", before)
    assert told.code == 1
    _, second = attempts(tmp_path, "T-77")
    report = load(second)
    facts = report.circumstances
    assert (facts.order, facts.attempt, facts.repairs) == ("T-77", 2, ("battery",))
    assert facts.work_order == load(before).circumstances.work_order
    assert (second / "work-order.toml").read_bytes() == (before / "work-order.toml").read_bytes()
    (earlier,) = report.earlier
    assert earlier.digest == sha256((before / "report.json").read_bytes()).hexdigest()
    assert (earlier.attempt, earlier.revision, earlier.verdict) == (1, 1, "hold")
    assert earlier.reasons == load(before).reasons
    assert earlier.started == load(before).circumstances.started


@pytest.mark.usefixtures("unit")
def test_every_attempt_before_is_told(tmp_path: Path) -> None:
    before = first(tmp_path)
    check(tmp_path, "--again", before, "--reopened", "battery", "panel", "battery")
    second = attempts(tmp_path, "T-77")[1]
    check(tmp_path, "--again", second / "report.json")
    report = load(attempts(tmp_path, "T-77")[2])
    assert [(each.attempt, each.reopened) for each in report.earlier] == [
        (1, ()),
        (2, ("battery", "panel")),
    ]
    assert load(second).circumstances.reopened == ("battery", "panel")


@pytest.mark.usefixtures("unit")
def test_what_was_said_holds_with_its_age_until_something_is_reopened(tmp_path: Path) -> None:
    profile = ("--profile", "northlake/fen-14")
    check(tmp_path, *profile)
    before = say_no(attempts(tmp_path, "no-order")[0], CLOCK)
    assert check(tmp_path, "--again", before).code == 1
    second = load(attempts(tmp_path, "no-order")[2])
    assert second.circumstances.profile.name == "northlake/fen-14"
    kept = [one.answer for one in second.findings if one.answer]
    assert [(one.by, one.attempt, one.reason) for one in kept] == [("L. Arden", 1, "seen")]
    assert second.void == ()
    check(tmp_path, "--again", attempts(tmp_path, "no-order")[2], "--reopened", "clock-cell")
    third = load(attempts(tmp_path, "no-order")[3])
    assert [one.answer for one in third.findings if one.answer] == []
    assert [(one.rule, one.said) for one in third.void] == [
        (CLOCK, "answered no by L. Arden: seen")
    ]
    assert [each.revision for each in third.earlier] == [2, 1]


def test_a_concession_holds_only_while_the_same_is_found(tmp_path: Path) -> None:
    before = write_demo(tmp_path)
    who = ("--by", "L. Arden", "--reason", "part on order")
    assert call_in(before, "concede", before, PART, *who).code == 0
    conceded = before.with_name(f"{before.name}-r2")
    assert load(conceded).verdict is not Verdict.HOLD
    mended = shipped_folder("profiles") / "demo" / "fen-14-healthy" / "unit.jsonl.gz"
    call_in(tmp_path, "check", "--again", conceded, "--evidence", mended)
    report = load(before.parent / max(path.name for path in before.parent.iterdir()))
    assert report.verdict is Verdict.HOLD  # the order's serial is of the other unit
    assert [(one.rule, one.why) for one in report.void] == [
        (PART, "it is met now, so nothing has to be said of it")
    ]


@pytest.mark.usefixtures("unit")
def test_a_draft_is_not_counted(tmp_path: Path) -> None:
    before = first(tmp_path)
    for number in (1, 2):
        told = check(tmp_path, "--again", before, "--draft")
        assert told.code == 0
        draft = attempts(tmp_path, "T-77")[number]
        assert draft.name.startswith(f"draft-000{number}-")
        facts = load(draft).circumstances
        assert (facts.attempt, facts.is_draft) == (0, True)
    check(tmp_path, "--again", before)
    names = [path.name[:13] for path in attempts(tmp_path, "T-77")]
    assert [name for name in names if name.startswith("attempt")] == [
        *("attempt-0001-", "attempt-0002-"),
    ]


@pytest.mark.usefixtures("unit")
@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (("--reopened", "batery"), "--reopened: 'batery' is no repair; did you mean battery?"),
        (
            ("--work-order", "{order}"),
            "--work-order: it is of order 'X-1', and attempt 1 of 'T-77'",
        ),
        (("--profile", "no-such"), "no-such: no shipped profile has this id"),
    ],
)
def test_what_does_not_fit_is_refused_in_a_line(
    tmp_path: Path, arguments: tuple[str, ...], said: str
) -> None:
    before = first(tmp_path)
    (tmp_path / "other.toml").write_text('work_order = 1\norder = "X-1"\n')
    kept = everything(tmp_path)
    given = [one.format(order=tmp_path / "other.toml") for one in arguments]
    told = check(tmp_path, "--again", before, *given)
    assert (told.code, told.out, told.err.count("\n")) == (2, "", 1)
    assert said in told.err
    assert everything(tmp_path) == kept


@pytest.mark.usefixtures("unit")
def test_reopened_needs_the_attempt_before(tmp_path: Path) -> None:
    told = check(tmp_path, "--reopened", "battery")
    assert told.err == "closeout: --reopened goes with --again REPORT, the attempt before\n"


@pytest.mark.usefixtures("unit")
def test_only_the_newest_attempt_of_an_order_is_taken_up_again(tmp_path: Path) -> None:
    before = first(tmp_path)
    check(tmp_path, "--again", before)
    told = check(tmp_path, "--again", before)
    assert told.err.endswith("attempt 2 of this order is there; give that one\n")
    check(tmp_path)
    check(tmp_path)
    assert check(tmp_path, "--again", attempts(tmp_path, "no-order")[0]).code == 0


@pytest.mark.usefixtures("unit")
def test_an_order_that_is_not_kept_has_to_be_given_again(tmp_path: Path) -> None:
    before = first(tmp_path)
    (before / "work-order.toml").write_text(ORDER.format(serial="NW83KD99", repairs=""))
    told = check(tmp_path, "--again", before)
    assert "work-order.toml: changed since attempt 1; give the order with --work-order" in told.err
    (before / "work-order.toml").unlink()
    told = check(tmp_path, "--again", before)
    assert "no copy of the order beside this report; give it with --work-order" in told.err
    assert check(tmp_path, "--again", before, "--work-order", tmp_path / "o.toml").code == 0


@pytest.mark.usefixtures("unit")
def test_a_profile_out_of_a_file_has_to_be_given_again(tmp_path: Path) -> None:
    own = tmp_path / "own.toml"
    shipped = (shipped_folder("profiles") / "any-notebook.toml").read_text("utf-8")
    own.write_text(shipped.replace('id = "any-notebook"', 'id = "own/model"'), "utf-8")
    before = first(tmp_path, "--profile", own)
    assert load(before).circumstances.profile.name == "own/model"
    told = check(tmp_path, "--again", before)
    assert "the profile 'own/model' of attempt 1 is not among those that ship" in told.err
    assert check(tmp_path, "--again", before, "--profile", own).code == 0


def test_the_same_readings_are_no_rework(tmp_path: Path) -> None:
    before = write_demo(tmp_path)
    evidence = before / "evidence.jsonl.gz"
    told = call_in(tmp_path, "check", "--again", before, "--evidence", evidence)
    assert "the readings of the attempt before; after rework the unit is read anew" in told.err
    other = shipped_folder("profiles") / "demo" / "fen-14-healthy" / "unit.jsonl.gz"
    assert call_in(tmp_path, "check", "--again", before, "--evidence", other).code == 1
    evidence.unlink()


@pytest.mark.usefixtures("unit")
def test_a_report_away_from_home_is_followed_where_out_says(tmp_path: Path) -> None:
    before = first(tmp_path)
    away = tmp_path / "stick" / before.name
    shutil.copytree(before, away)
    shutil.rmtree(tmp_path / "closeout-reports")
    check(tmp_path, "--again", away)
    (second,) = attempts(tmp_path, "T-77")
    assert second.name.startswith("attempt-0002-")
    assert check(tmp_path, "--again", away, "--out", tmp_path / "else").code == 0
    assert len(list((tmp_path / "else" / "T-77").iterdir())) == 1


@pytest.mark.usefixtures("unit")
def test_an_order_in_json_is_kept_as_such(tmp_path: Path) -> None:
    (tmp_path / "o.json").write_text('{"work_order": 1, "order": "T-77"}')
    check(tmp_path, "--work-order", tmp_path / "o.json")
    before = attempts(tmp_path, "T-77")[0]
    assert (before / "work-order.json").read_bytes() == (tmp_path / "o.json").read_bytes()
    assert check(tmp_path, "--again", before).code == 0


@pytest.mark.usefixtures("unit")
def test_a_folder_that_cannot_be_listed_is_said(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    before = first(tmp_path)

    def hidden(root: Path, _: str) -> int:
        raise StoreError(str(root), "no permission")

    monkeypatch.setattr("closeout.cli.again.next_attempt", hidden)
    assert "no permission" in check(tmp_path, "--again", before).err


@pytest.mark.usefixtures("unit")
def test_only_what_is_reopened_is_asked_again(tmp_path: Path) -> None:
    repaired = ("--repair", "battery", "--repair", "speakers")
    check = ("check", "--root", tmp_path / "unit")
    assert call_in(tmp_path, *check, *repaired, typed=b"T1\n" + b"YES\n" * 20).code == 0
    (before,) = attempts(tmp_path, "no-order")
    assert call_in(tmp_path, *check, "--again", before, "--reopened", "speakers").code == 3
    second = load(attempts(tmp_path, "no-order")[1])
    assert set(second.circumstances.repairs) == {"battery", "speakers"}
    disturbs = load_repair_map().disturbs
    asked = [one for one in second.findings if one.rule.startswith("connection.")]
    kept = {one.rule for one in asked if one.answer}
    assert kept == {one.rule for one in asked if not disturbs(("speakers",), one.rule)}
    assert kept
    assert {void.rule for void in second.void} == {one.rule for one in asked} - kept
    assert all(one.answer.attempt == 1 for one in asked if one.answer)
