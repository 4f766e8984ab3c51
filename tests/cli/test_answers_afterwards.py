"""`closeout answer` and `closeout concede`: a new revision beside the old, or one clear line."""

import json
import shutil
from hashlib import sha256
from pathlib import Path

import pytest
from jsonschema import Draft202012Validator

from closeout.expect.shipped import shipped_folder
from closeout.model.finding import Reply
from closeout.model.verdict import Verdict
from closeout.report import store
from closeout.report.failure import StoreError
from closeout.report.from_json import load_report
from oracles.web_page import WebPage
from strategies.surroundings import Told, call_in
from strategies.written_attempt import everything, load, write_demo

SCHEMA = Draft202012Validator(
    json.loads((shipped_folder("reports") / "report-1.schema.json").read_text("utf-8"))
)
KEY = "BCDFG-HJKMP-QRTVW-XY234-6789N"
CLOCK = "clock.kept_time"
CLOCK_NAME = "Time that the clock keeps (rtc0)"
PART = "usb_device.presence"


@pytest.fixture
def attempt(tmp_path: Path) -> Path:
    """The demo unit whose fingerprint ribbon was left out: a failed must, an unread should."""
    return write_demo(tmp_path)


def answer(attempt: Path, *arguments: object) -> Told:
    by = () if "--by" in arguments else ("--by", "T17")
    why = () if "--reason" in arguments else ("--reason", "seen in setup")
    return call_in(attempt, "answer", attempt, *arguments, *by, *why)


def number_of(attempt: Path, rule: str) -> int:
    """The number of the finding, the only one of its rule."""
    (number,) = (number for number, one in enumerate(load(attempt).findings, 1) if one.rule == rule)
    return number


def concede(attempt: Path, *arguments: object) -> Told:
    return call_in(
        *(attempt, "concede", attempt, *arguments),
        *("--by", "L. Arden", "--reason", "customer informed"),
    )


def test_an_answer_is_a_new_revision_and_the_old_stays_byte_for_byte(attempt: Path) -> None:
    before = everything(attempt.parent)
    told = answer(attempt, CLOCK, "yes")
    assert (told.code, told.err) == (0, "")
    second = attempt.with_name(f"{attempt.name}-r2")
    first, verdict, reason, *_, last = told.out.splitlines()
    number = number_of(attempt, CLOCK)
    assert first == f"finding {number}, {CLOCK_NAME}: answered yes."
    assert (verdict, reason) == ("Hold", "- Fingerprint reader: expected present, found none")
    assert last == f"Report: {second}"
    after = everything(attempt.parent)
    assert {file: after[file] for file in before} == before
    for copied in ("evidence.jsonl.gz", "work-order.toml"):
        assert (second / copied).read_bytes() == (attempt / copied).read_bytes()
    raw = (second / "report.json").read_bytes()
    SCHEMA.validate(json.loads(raw))
    report = load_report(raw)
    (revision,) = report.revisions
    assert (revision.number, revision.by) == (2, "T17")
    assert revision.digest == sha256((attempt / "report.json").read_bytes()).hexdigest()
    said = report.findings[number - 1].answer
    assert said is not None
    assert (said.reply, said.reason, said.attempt) == (Reply.YES, "seen in setup", 1)
    assert said.at is not None
    assert said.at.text == "2026-11-20T12:00:00Z"
    page = WebPage.of((second / "report.html").read_text("utf-8"))
    assert "seen in setup" in " ".join(page.text)


def test_each_revision_is_written_beside_the_one_before(attempt: Path) -> None:
    number = number_of(attempt, CLOCK)
    answer(attempt, number, "yes")
    second, third = (attempt.with_name(f"{attempt.name}-r{number}") for number in (2, 3))
    answer(second / "report.json", f"{CLOCK}@rtc0", "NO")
    assert concede(third, 1).code == 0
    kept = everything(attempt.parent)
    report = load(attempt.with_name(f"{attempt.name}-r4"))
    assert report.verdict is not Verdict.HOLD
    assert any("conceded by L. Arden: customer informed" in reason for reason in report.reasons)
    assert [revision.change for revision in report.revisions] == [
        f"finding {number}, {CLOCK_NAME}: answered yes",
        f"finding {number}, {CLOCK_NAME}: answered no; in place of the yes of T17: seen in setup",
        "finding 1, Fingerprint reader: conceded",
    ]
    digests = [revision.digest for revision in report.revisions]
    files = [attempt, second, third]
    assert digests == [sha256(kept[file / "report.json"]).hexdigest() for file in files]


@pytest.mark.parametrize("number", [1, 2])
def test_only_the_newest_revision_takes_another(attempt: Path, number: int) -> None:
    answer(attempt, CLOCK, "yes")
    answer(attempt.with_name(f"{attempt.name}-r2"), CLOCK, "no")
    kept = everything(attempt.parent)
    older = attempt if number == 1 else attempt.with_name(f"{attempt.name}-r2")
    told = concede(older, 1)
    assert told.code == 2
    assert told.err.endswith(f"there is a newer revision of it: give {attempt.name}-r3\n")
    assert everything(attempt.parent) == kept


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (("clock.kept_tim", "yes"), "no finding is called 'clock.kept_tim'; did you mean"),
        (("bios.version", "yes"), "Version of the system firmware: it is met"),
        (("999", "yes"), "there is no finding 999"),
        ((PART, "yes"), "finding 1, Fingerprint reader: it failed, and no answer changes"),
        ((CLOCK, "yes", "--by", " "), "--by: nothing is typed"),
        ((CLOCK, "yes", "--reason", "  "), "--reason: nothing is typed"),
        ((CLOCK, "yes", "--reason", ""), "no name that a file can have"),
        ((CLOCK, "yes", "--by", "x" * 41), "--by: longer than 40 characters"),
        ((CLOCK, "yes", "--reason", "x" * 301), "--reason: longer than 300 characters"),
        ((CLOCK, "yes", "--reason", "a\nb"), "--reason: one line without control"),
        ((CLOCK, "yes", "--by", "\x1b[31mT"), "--by: one line without control"),
        ((CLOCK, "yes", "--reason", "\u202etxet"), "--reason: one line without control"),
    ],
)
def test_what_cannot_be_said_is_refused_in_one_line(
    attempt: Path, arguments: tuple[str, ...], said: str
) -> None:
    kept = everything(attempt.parent)
    told = answer(attempt, *arguments)
    assert (told.code, told.out) == (2, "")
    assert said in told.err
    assert told.err.count("\n") == 1
    assert everything(attempt.parent) == kept


def test_a_licence_key_is_refused_as_a_reason_and_said_nowhere(attempt: Path) -> None:
    for option in ("--reason", "--by"):
        told = answer(attempt, CLOCK, "yes", option, f"key {KEY}")
        assert told.code == 2
        assert "a text in the form of a licence key" in told.err
        assert KEY[:11] not in told.err + told.out
    assert not any(KEY.encode() in raw for raw in everything(attempt.parent).values())
    assert len(list(attempt.parent.iterdir())) == 1


def test_what_no_person_may_answer_is_refused(tmp_path: Path) -> None:
    board = write_demo(tmp_path, name="skerry-13-new-board")
    told = answer(board, "licence.checksum_good", "yes")
    assert "no person may answer it: only a reading proves this" in told.err
    told = concede(board, "licence.checksum_good")
    assert "only a must that failed or was answered no can be conceded" in told.err
    assert concede(board, "system.serial").code == 0


def test_a_copy_is_not_the_record(attempt: Path, tmp_path: Path) -> None:
    shutil.copytree(attempt, tmp_path / "copy")
    assert "a copy is not the record" in answer(tmp_path / "copy", CLOCK, "yes").err
    shutil.copytree(attempt, attempt.with_name(f"{attempt.name}-r2"))
    told = answer(attempt.with_name(f"{attempt.name}-r2"), CLOCK, "yes")
    assert "a copy is not the record" in told.err


def test_a_redacted_report_and_a_draft_are_not_answered(tmp_path: Path) -> None:
    redacted = write_demo(tmp_path, "--redact")
    assert not (redacted / "work-order.toml").exists()
    assert "a redacted copy is not the record" in answer(redacted, CLOCK, "yes").err
    draft = write_demo(tmp_path, "--draft")
    SCHEMA.validate(json.loads((draft / "report.json").read_bytes()))
    for told in (answer(draft, CLOCK, "yes"), concede(draft, PART)):
        assert told.code == 2
        assert "a draft is no attempt" in told.err


def test_what_is_no_report_is_said_in_a_line(attempt: Path, tmp_path: Path) -> None:
    assert "cannot be read" in answer(tmp_path, CLOCK, "yes").err
    file = attempt / "report.html"
    told = call_in(tmp_path, "answer", file, CLOCK, "yes", "--by", "T", "--reason", "x")
    assert "give the folder of an attempt, or its report.json" in told.err
    (attempt / "report.json").write_bytes(b"{")
    assert "report.json: no report: " in answer(attempt, CLOCK, "yes").err
    assert call_in(tmp_path, "answer", attempt, CLOCK, "maybe").code == 2


def test_a_folder_that_takes_no_revision_is_said(
    attempt: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def full(folder: Path, _: object) -> None:
        raise StoreError(str(folder), "the disk is full")

    monkeypatch.setattr("closeout.cli.revision.write_new", full)
    assert "the revision was not written: cannot write" in answer(attempt, CLOCK, "yes").err

    def hidden(folder: Path, _: str) -> int:
        raise StoreError(str(folder), "no permission")

    monkeypatch.setattr("closeout.cli.recorded_attempt.newest_revision", hidden)
    assert "no permission" in answer(attempt, CLOCK, "yes").err


def test_evidence_that_is_gone_is_not_made_up(attempt: Path) -> None:
    (attempt / "evidence.jsonl.gz").unlink()
    assert answer(attempt, CLOCK, "no").code == 0
    second = attempt.with_name(f"{attempt.name}-r2")
    assert sorted(file.name for file in second.iterdir()) == [
        *("report.html", "report.json", "work-order.toml"),
    ]


def test_the_next_attempt_counts_revisions_as_the_attempt_they_are_of(attempt: Path) -> None:
    answer(attempt, CLOCK, "yes")
    root = attempt.parent.parent
    assert store.next_attempt(root, attempt.parent.name) == 2
    assert store.newest_revision(attempt.parent, attempt.name) == 2
    assert store.newest_revision(attempt.parent, "attempt-0009-aa") == 1
    assert store.newest_revision(root / "nowhere", attempt.name) == 1
