"""`closeout field` on every kind of line."""

import json
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from closeout.decode.filler import classify
from closeout.decode.version_order import compare_versions
from strategies.surroundings import Told, call_in

SERIAL = "System/Serial Number"
HERE = Path("/nowhere")


def ask(stdin: bytes, field: str = SERIAL) -> Told:
    return call_in(HERE, "field", "--field", field, stdin=stdin)


def order(stdin: bytes) -> Told:
    return call_in(HERE, "field", "--order", stdin=stdin)


def answers(told: Told) -> list[dict[str, str]]:
    """The JSON objects, one a line."""
    assert told.err == ""
    assert told.raw.isascii()
    assert told.out == "" or told.out.endswith("\n")
    return [json.loads(line) for line in told.out.split("\n")[:-1]]


def states(stdin: bytes, field: str = SERIAL) -> list[str]:
    told = ask(stdin, field)
    assert told.code == 0
    assert all(set(answer) == {"state", "reason"} for answer in answers(told))
    return [answer["state"] for answer in answers(told)]


def test_nothing_asked_nothing_answered() -> None:
    assert ask(b"").raw == b""
    assert order(b"").raw == b""


def test_each_line_has_its_answer_and_a_blank_line_too() -> None:
    told = b"NW83KD20\n\n   \nTo be filled by O.E.M.\n\n"
    assert states(told) == ["value", "blank", "blank", "filler", "blank"]


def test_the_last_line_needs_no_newline() -> None:
    assert states(b"NW83KD20\nTBD") == ["value", "filler"]
    assert states(b"\n") == ["blank"]
    assert states(b"NW83KD20") == ["value"]


@pytest.mark.parametrize(
    "line",
    [b"NW83KD20\r", b"NW83\rKD20", b"NW83\x0bKD\x0c20", b"NW83\xe2\x80\xa8KD20", b"NW\x8520"],
)
def test_only_the_newline_ends_a_line(line: bytes) -> None:
    assert len(states(line + b"\n" + line)) == 2


def test_a_carriage_return_is_part_of_the_value() -> None:
    """What the field says of the line is what it says of the text with it."""
    for text in ("0", "None", "NW83KD20"):
        expected = classify(SERIAL, f"{text}\r")
        (answer,) = answers(ask(f"{text}\r\n".encode()))
        assert (answer["state"], answer["reason"]) == (expected.state.value, expected.reason)


def test_the_field_counts() -> None:
    assert states(b"0202\n", "System/Serial Number") == ["filler"]
    assert states(b"0202\n", "BIOS/Version") == ["value"]
    assert states(b"0202\n", "no such field") == states(b"0202\n", "System/Family")


@given(st.lists(st.binary(max_size=30).filter(lambda raw: b"\n" not in raw), max_size=5))
def test_any_lines_have_as_many_answers(lines: list[bytes]) -> None:
    stdin = b"".join(line + b"\n" for line in lines)
    assert len(answers(ask(stdin))) == len(lines)
    assert len(answers(order(stdin))) == len(lines)


@given(st.text(st.characters(), max_size=20), st.sampled_from((SERIAL, "BIOS/Version", "\u2028")))
def test_any_text_is_answered_as_the_rules_do(text: str, field: str) -> None:
    raw = text.replace("\n", "").encode("utf-8", "replace")
    (answer,) = answers(ask(raw + b"\n", field))
    expected = classify(field, raw.decode("utf-8", "surrogateescape"))
    assert answer == {"state": expected.state.value, "reason": expected.reason}


def test_pairs_are_put_in_order() -> None:
    told = order(b"1.08\t1.10\n1.10\t1.08\n1.10\t1.10\nA\t1.0.0\n")
    assert told.code == 0
    found = [answer["order"] for answer in answers(told)]
    assert found[:3] == ["less", "greater", "equal"]
    assert all(set(answer) == {"order", "reason"} for answer in answers(told))


@given(older=st.text("0123456789.TAB", max_size=8), newer=st.text("0123456789.\t", max_size=8))
def test_the_first_tab_parts_the_pair(older: str, newer: str) -> None:
    (answer,) = answers(order(f"{older}\t{newer}\n".encode()))
    expected = compare_versions(older, newer)
    assert answer == {"order": expected.order.value, "reason": expected.reason}


def test_a_line_without_a_tab_is_told_and_the_rest_goes_on() -> None:
    told = order(b"1.08\t1.10\n1.08 1.10\n\n1.10\t1.08")
    assert told.code == 2
    assert [answer["order"] for answer in answers(told)] == [
        "less",
        "unknown",
        "unknown",
        "greater",
    ]
    assert "no tab" in answers(told)[1]["reason"]


def test_odd_bytes_in_pairs() -> None:
    told = order(b"\xff\t\xff\n1\xe2\x80\xa82\t1\r\n\t\n")
    assert told.code == 0
    assert answers(told)[0]["order"] == "equal"
    assert len(answers(told)) == 3


@pytest.mark.parametrize("encoding", ["ascii", "latin-1"])
def test_the_terminal_makes_no_difference(encoding: str) -> None:
    told = call_in(HERE, "field", "--field", "é", stdin="漢字\n".encode(), encoding=encoding)
    assert told.raw == ask("漢字\n".encode(), "é").raw
