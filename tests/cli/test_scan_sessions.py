"""The three scans on a pseudo-terminal, as a scanner types them: in one burst, its end included."""

from pathlib import Path

import pytest

from closeout.expect.scan import type_on
from closeout.model.handling import Handling
from strategies.console_session import CTRL_C, CTRL_D, Session
from strategies.laid_out import healthy
from strategies.written_attempt import load

SERIAL = "NW83KD20"
BUILD = "2026.11-1"
ORDER = f'work_order = 1\norder = "WO-7"\n[unit]\nserial = "{SERIAL}"\n'
PROMPTS = ("Scan the order: ", "Scan the unit's label: ", "Scan your code: ")
CODES = ("WO-7", SERIAL, "T17")
TYPED_AT = ("Scan ", "Report: ")
"""How lines begin that the terminal may have to wrap: where somebody types, and a path."""


@pytest.fixture
def place(tmp_path: Path) -> Path:
    """A folder with a healthy unit and its order."""
    healthy(tmp_path / "unit")
    (tmp_path / "orders").mkdir()
    (tmp_path / "orders" / "WO-7.toml").write_text(ORDER)
    return tmp_path


def start(place: Path, *arguments: object, columns: int = 80, term: str = "xterm") -> Session:
    command = ("check", "--scan", "--no-questions", "--root", place / "unit", *arguments)
    return Session(place, *command, columns=columns, term=term)


def told(place: Path, order: str = "WO-7") -> Handling:
    (attempt,) = (place / "closeout-reports" / order).iterdir()
    return load(attempt).circumstances.handling


@pytest.mark.parametrize("end", ["\r", "\n", "\r\n"])
@pytest.mark.parametrize("mark", ["", "]C0"])
@pytest.mark.parametrize("layout", ["", "German", "French"])
def test_three_bursts_are_all_that_is_typed(place: Path, end: str, mark: str, layout: str) -> None:
    session = start(place)
    bursts = 0
    for prompt, code in zip(PROMPTS, CODES, strict=True):
        session.wait_for(prompt)
        session.type(f"{type_on(layout, mark + code) if layout else mark + code}{end}")
        bursts += 1
    assert session.end() == 0
    assert told(place) == Handling(operator="T17", stick_build=BUILD, label=SERIAL)
    assert (bursts, session.text.count("Scan ")) == (3, 3)


def test_three_keystrokes_skip_everything(place: Path) -> None:
    session = start(place)
    for prompt in PROMPTS:
        session.wait_for(prompt)
        session.type("\r")
    assert session.end() == 0
    assert told(place, "no-order") == Handling(stick_build=BUILD)


def test_a_code_scanned_twice_answers_one_question(place: Path) -> None:
    session = start(place)
    session.wait_for(PROMPTS[0])
    session.type("WO-7\rWO-7\r")
    session.wait_for(PROMPTS[1])
    session.type(f"{SERIAL}\r{SERIAL}\r")
    session.wait_for(PROMPTS[2])
    session.type("T17\r")
    assert session.end() == 0
    assert told(place) == Handling(operator="T17", stick_build=BUILD, label=SERIAL)


def test_the_order_scanned_in_place_of_the_label_is_asked_again(place: Path) -> None:
    session = start(place)
    session.wait_for(PROMPTS[0])
    session.type("WO-7\r")
    session.wait_for(PROMPTS[1])
    session.type("WO-7\r")
    session.wait_for("that is the order once more")
    session.wait_for(PROMPTS[1])
    session.type("NW83KD21\r")
    session.wait_for(PROMPTS[2])
    session.type("\r")
    session.wait_for("HOLD")
    assert session.end() == 1
    assert told(place).label == "NW83KD21"


@pytest.mark.parametrize(
    ("columns", "term"), [(40, "xterm"), (40, "dumb"), (80, "dumb"), (24, "linux")]
)
def test_narrow_and_plain_terminals(place: Path, columns: int, term: str) -> None:
    session = start(place, columns=columns, term=term)
    for prompt, code in zip(PROMPTS, ("WO-9", SERIAL, "../"), strict=True):
        session.wait_for(prompt)
        session.type(f"{code}\r")
    session.wait_for("Scan a repair")
    session.type("\r")
    assert session.end() == 0
    before = session.text[: session.text.index("Order WO-9: ")]
    assert "\x1b" not in before
    lines = [line for line in before.splitlines() if not line.startswith(TYPED_AT)]
    assert lines
    assert max(map(len, lines)) <= columns


def test_ctrl_d_goes_on_without_the_rest(place: Path) -> None:
    session = start(place)
    session.wait_for(PROMPTS[0])
    session.type("WO-7\r")
    session.wait_for(PROMPTS[1])
    session.type(CTRL_D)
    assert session.end() == 0
    assert session.text.count("Scan ") == 2
    assert told(place) == Handling(stick_build=BUILD)


def test_ctrl_c_ends_before_anything_is_read_or_written(place: Path) -> None:
    session = start(place)
    session.wait_for(PROMPTS[0])
    session.type(CTRL_C)
    assert session.end() == 130
    assert "Traceback" not in session.text
    assert not (place / "closeout-reports").exists()
