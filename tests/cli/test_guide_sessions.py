"""`closeout guide` on a pseudo-terminal: one check after the other, as a person goes through it."""

from pathlib import Path

import pytest

from closeout.cli import sealing
from closeout.cli.station_records import load_station
from closeout.report.seal import State, check_seal
from strategies.console_session import CTRL_C, CTRL_D, Session
from strategies.laid_out import healthy
from strategies.surroundings import call_in
from strategies.written_attempt import load

PASS_PHRASE = "wool and salt"  # noqa: S105 - of a key made here
ASKED = "Pass phrase, which is not shown: "
SERIAL = "NW83KD20"
ORDER = f'work_order = 1\norder = "WO-7"\n[unit]\nserial = "{SERIAL}"\n'
PROMPTS = ("Scan the order: ", "Scan the unit's label: ", "Scan your code: ")
CODES = ("WO-7", SERIAL, "T17")
AFTER = "What now? "


@pytest.fixture
def place(tmp_path: Path) -> Path:
    """A folder with a healthy unit and its order."""
    healthy(tmp_path / "unit")
    (tmp_path / "orders").mkdir()
    (tmp_path / "orders" / "WO-7.toml").write_text(ORDER)
    return tmp_path


def start(place: Path, *arguments: object, columns: int = 80) -> Session:
    return Session(place, "guide", "--root", place / "unit", *arguments, columns=columns)


def scan(session: Session, codes: tuple[str, ...] = CODES) -> None:
    for prompt, code in zip(PROMPTS, codes, strict=True):
        session.wait_for(prompt)
        session.type(f"{code}\r")


def attempts(place: Path, order: str = "WO-7") -> list[Path]:
    return sorted((place / "closeout-reports" / order).iterdir())


def test_from_the_scan_to_switching_off(place: Path) -> None:
    session = start(place)
    scan(session)
    session.wait_for("RELEASE")
    session.wait_for(AFTER)
    session.type("off\r")
    assert session.end() == 0
    (attempt,) = attempts(place)
    assert load(attempt).circumstances.handling.operator == "T17"


def test_it_begins_with_the_order_and_no_question_before(place: Path) -> None:
    session = start(place)
    session.wait_for(PROMPTS[0])
    assert "?" not in session.text
    session.type(CTRL_D)
    session.wait_for(AFTER)
    session.type(CTRL_D)
    assert session.end() == 130


def test_without_an_order_three_keys_are_enough(place: Path) -> None:
    session = start(place)
    scan(session, ("", "", ""))
    session.wait_for(AFTER)
    session.type("OFF\r")
    assert session.end() == 0
    (attempt,) = attempts(place, "no-order")
    assert load(attempt).circumstances.order == ""


def test_rework_is_the_next_attempt_and_says_what_was_opened(place: Path) -> None:
    session = start(place)
    scan(session)
    session.wait_for(AFTER)
    session.type("again\r")
    session.wait_for("Scan a repair that was opened again: ")
    session.type("BATTERY\r")
    session.wait_for("Scan a repair that was opened again: ")
    session.type("\r")
    for prompt in PROMPTS[1:]:  # the order is that of the attempt before
        session.wait_for(prompt)
        session.type("\r")
    session.wait_for("questions for you")
    session.wait_for("Your code")
    session.type("T17\r")
    session.wait_for("yes, no, Enter")
    session.type("stop\r")
    session.wait_for(AFTER)
    session.type("off\r")
    assert session.end() == 0
    first, second = attempts(place)
    again = load(second)
    assert (again.circumstances.attempt, again.circumstances.reopened) == (2, ("battery",))
    assert [one.attempt for one in again.earlier] == [load(first).circumstances.attempt]


def test_the_next_check_starts_from_the_beginning(place: Path) -> None:
    session = start(place)
    for _ in range(2):
        scan(session)
        session.wait_for(AFTER)
        session.type("NEXT\r")
    session.wait_for(PROMPTS[0])
    session.type(CTRL_C)
    assert session.end() == 130
    assert [load(one).circumstances.attempt for one in attempts(place)] == [1, 2]


def test_an_order_with_a_mistake_is_said_and_the_next_can_follow(place: Path) -> None:
    (place / "orders" / "WO-8.toml").write_text("work_order = 1\nordr = 1\n")
    session = start(place)
    scan(session, ("WO-8", "", ""))
    session.wait_for("WO-8.toml")
    session.wait_for("next = a new check; off")
    session.wait_for(AFTER)
    session.type("again\r")  # there is no attempt to come again to
    session.wait_for("one of these words")
    session.wait_for(AFTER)
    session.type("stop\r")
    assert session.end() == 0


@pytest.mark.parametrize("typed", ["\r", "yes\r", "perhaps\r", "\x1b[A\r"])
def test_any_other_word_is_asked_again(place: Path, typed: str) -> None:
    session = start(place)
    scan(session)
    session.wait_for(AFTER)
    session.type(typed)
    session.wait_for("one of these words is wanted")
    session.wait_for(AFTER)
    session.type("off\r")
    assert session.end() == 0


def test_where_no_stick_is_in_the_report_waits_and_switching_off_is_asked_twice(
    place: Path,
) -> None:
    """The machine that the tests run on has none."""
    session = start(place, "--keep")
    scan(session)
    session.wait_for("Not kept on a stick: 1 report is in memory.")
    session.wait_for(AFTER)
    session.type("keep\r")
    session.wait_for("Not kept on a stick")
    session.wait_for(AFTER)
    session.type("off\r")
    session.wait_for("is lost when the unit is switched off")
    session.wait_for(AFTER)
    session.type("off\r")
    assert session.end() == 0


@pytest.mark.parametrize("columns", [40, 50, 132])
def test_no_line_is_wider_than_the_terminal(place: Path, columns: int) -> None:
    session = start(place, "--keep", columns=columns)
    scan(session)
    session.wait_for(AFTER)
    session.type("off\r")
    session.wait_for("lost")
    session.wait_for(AFTER)
    session.type("off\r")
    assert session.end() == 0
    lines = [line for line in session.text.split("\n") if not line.startswith(("Report: ", "Scan"))]
    assert max(len(line.split("\r")[-1]) for line in lines) <= columns


def test_without_a_terminal_it_says_so(place: Path) -> None:
    told = call_in(place, "guide", "--root", "unit")
    assert (told.code, told.out) == (2, "")
    assert "nobody sits at a terminal" in told.err


@pytest.fixture
def locked(place: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A station whose key has a pass phrase, named as a stick names it."""
    (place / "words").write_text(PASS_PHRASE)
    station = place / "station"
    made = ("station", "init", station, "--code", "B-07", "--passphrase", place / "words")
    assert call_in(place, *made).code == 0
    monkeypatch.setenv(sealing.FOLDER, str(station))
    monkeypatch.delenv(sealing.PASSPHRASE, raising=False)
    return station


def off(session: Session) -> None:
    scan(session)
    session.wait_for(AFTER)
    session.type("off\r")
    assert session.end() == 0


def sealed(place: Path) -> bool:
    (attempt,) = attempts(place)
    if not (attempt / "report.jws").is_file():
        return False
    raw, seal = (attempt / "report.json").read_bytes(), (attempt / "report.jws").read_bytes()
    return check_seal(raw, seal, (load_station(place / "station/station.toml"),)).state is (
        State.INTACT
    )


@pytest.mark.usefixtures("locked")
def test_a_locked_key_is_opened_once_and_unseen(place: Path) -> None:
    session = start(place)
    session.wait_for(ASKED)
    session.type("wrong\r")
    session.wait_for("the pass phrase does not open it")
    session.wait_for(ASKED)
    session.type(f"{PASS_PHRASE}\r")
    off(session)
    assert PASS_PHRASE not in session.text
    assert "wrong" not in session.text
    assert session.text.count(ASKED) == 2
    assert SERIAL in session.text  # what is scanned afterwards is shown again
    assert sealed(place)


@pytest.mark.usefixtures("locked")
def test_without_a_pass_phrase_the_session_goes_on_unsealed(place: Path) -> None:
    session = start(place)
    session.wait_for(ASKED)
    session.type("\r")
    session.wait_for("Reports are not sealed.")
    off(session)
    assert not sealed(place)


@pytest.mark.usefixtures("locked")
def test_after_three_wrong_words_it_goes_on(place: Path) -> None:
    session = start(place)
    for _ in range(3):
        session.wait_for(ASKED)
        session.type("wrong\r")
    session.wait_for("Reports are not sealed.")
    off(session)
    assert not sealed(place)


def test_a_pass_phrase_in_a_file_is_not_asked_for(
    place: Path, locked: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv(sealing.PASSPHRASE, str(locked.parent / "words"))
    session = start(place)
    off(session)
    assert ASKED not in session.text
    assert sealed(place)


def test_a_key_that_is_none_is_said_and_the_session_goes_on(place: Path, locked: Path) -> None:
    (locked / "station.key").write_bytes(b"nothing")
    session = start(place)
    session.wait_for("no private key of a station. Reports are not sealed.")
    off(session)
    assert not sealed(place)
