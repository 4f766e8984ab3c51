"""A day of ten units at one bench, played through the console, each step counted."""

from pathlib import Path

import pytest

from strategies.bench import OPERATOR, Bench

HEALTHY = "fen-14-healthy"
LEFT_OUT = "fen-14-ribbon-left-out"
ALL_YES = ["YES"] * 40
THREE = 3
"""Scans before each check: order, label, operator."""

PLAIN = (
    (1, ["system-board"], 18),
    (2, ["battery"], 5),
    (3, ["touchpad"], 4),
    (4, ["memory"], 3),
    (5, ["drive", "wireless-module"], 4),
    (6, ["fan-heat-sink"], 4),
)
"""Order, repairs, and the questions that they leave to a person."""


@pytest.fixture
def bench(tmp_path: Path) -> Bench:
    return Bench(tmp_path)


@pytest.mark.parametrize(("number", "repairs", "asked"), PLAIN)
def test_a_unit_that_is_as_it_should_be(
    bench: Bench, number: int, repairs: list[str], asked: int
) -> None:
    """Only scans: three before, one for each question, and the unit is released."""
    serial = f"NL7QK{number:03d}"
    name = bench.take_in(number, repairs, serial)
    told = bench.check(name, serial, bench.record(HEALTHY, serial), ALL_YES)
    assert told.code == 0, told.out
    assert bench.report(name).circumstances.handling.operator == OPERATOR
    scans, keystrokes = bench.steps[name]
    assert scans - THREE == asked
    assert keystrokes == 0


def test_a_ribbon_left_out_is_reseated_without_starting_anew(bench: Bench) -> None:
    serial = "NL7QK007"
    name = bench.take_in(7, ["keyboard-top-cover"], serial)
    assert bench.check(name, serial, bench.record(LEFT_OUT, serial), ALL_YES).code == 1
    first, _ = bench.steps[name]
    mended = bench.record(HEALTHY, serial)
    told = bench.check_again(name, mended, ALL_YES, reopened="fingerprint-reader")
    assert told.code == 0, told.out
    report = bench.report(name)
    assert [(each.attempt, each.verdict) for each in report.earlier] == [(1, "hold")]
    said = {one.rule: one.answer.attempt for one in report.findings if one.answer}
    assert said["connection.keyboard-ribbon"] == 1
    assert said["connection.fingerprint-ribbon"] == 2
    assert said["connection.case-and-screws"] == 2
    assert bench.steps[name] == (first + list(said.values()).count(2), 0)
    assert bench.steps[name] == (14, 0)


def test_a_no_that_the_lead_concedes(bench: Bench) -> None:
    serial = "NL7QK008"
    name = bench.take_in(8, ["panel"], serial)
    answers = ["NO", "flickers at one angle", *ALL_YES]
    assert bench.check(name, serial, bench.record(HEALTHY, serial), answers).code == 1
    number = bench.number_of(name, reply="no")
    conceded = ("--by", "L-01", "--reason", "panel on order")
    assert bench.command(name, "concede", bench.newest(name), number, *conceded).code == 0
    assert bench.steps[name][0] == 7
    report = bench.report(name)
    assert report.verdict.value == "release"
    assert report.reasons[0].startswith("release with concession")
    assert "flickers at one angle" in report.reasons[0] or report.findings[number - 1].answer


def test_a_question_left_for_later_is_answered_from_the_desk(bench: Bench) -> None:
    serial = "NL7QK009"
    name = bench.take_in(9, ["speakers"], serial)
    told = bench.check(name, serial, bench.record(HEALTHY, serial), ["NEXT", *ALL_YES])
    assert told.code == 3, told.out
    number = bench.number_of(name, reply=None)
    saying = ("yes", "--by", OPERATOR, "--reason", "seen")
    assert bench.command(name, "answer", bench.newest(name), number, *saying).code == 0
    assert bench.report(name).verdict.value == "release"
    assert bench.steps[name][0] == 7


def test_a_unit_that_does_not_boot_is_recorded(bench: Bench) -> None:
    tenth = ("unrun", "--order", "RX-10", "--reason", "no-boot", "--by", OPERATOR)
    assert bench.command("RX-10", *tenth).code == 0
    assert bench.newest("RX-10").name == "unrun-0001"
    assert bench.steps["RX-10"] == (
        0,
        len("closeout unrun --order rx-10 --reason no-boot --by d-07\n"),
    )
