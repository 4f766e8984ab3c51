"""Order, label and operator by option and at a terminal, and what the report makes of them."""

from pathlib import Path

import pytest

from closeout.model.handling import Handling
from closeout.model.report import Report
from closeout.model.verdict import Verdict
from closeout.report.from_json import load_report
from strategies.laid_out import healthy
from strategies.surroundings import Told, call_in
from strategies.written_attempt import everything, load

SERIAL = "NW83KD20"
ORDER = 'work_order = 1\norder = "{order}"\n[unit]\nserial = "{serial}"\n'
NAMELESS = 'work_order = 1\norder = "WO-8"\n'
BUILD = "2026.11-1"
KEY = "BCDFG-HJKMP-QRTVW-XY234-6789N"
SCANS = ("Scan the order: ", "Scan the unit's label: ", "Scan your code: ")
VARIABLES = ("CLOSEOUT_ORDERS", "CLOSEOUT_STATION", "CLOSEOUT_STICK")


@pytest.fixture
def place(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A folder with a healthy unit and an order of it."""
    for name in VARIABLES:
        monkeypatch.delenv(name, raising=False)
    healthy(tmp_path / "unit")
    (tmp_path / "orders").mkdir()
    write_order(tmp_path / "orders")
    return tmp_path


def write_order(folder: Path, order: str = "WO-7", serial: str = SERIAL) -> Path:
    file = folder / f"{order}.toml"
    file.write_text(ORDER.format(order=order, serial=serial))
    return file


def check(place: Path, *arguments: object, typed: bytes | None = None) -> Told:
    return call_in(place, "check", "--root", place / "unit", *arguments, typed=typed)


def scan(place: Path, typed: bytes, *arguments: object) -> Told:
    return check(place, "--scan", "--no-questions", *arguments, typed=typed)


def written(place: Path, order: str = "WO-7") -> Report:
    *_, attempt = sorted((place / "closeout-reports" / order).iterdir())
    return load(attempt)


def rules(report: Report) -> dict[str, str]:
    return {finding.rule: finding.outcome.value for finding in report.findings}


def test_everything_by_option(place: Path) -> None:
    told = check(
        *(place, "--order", "WO-7", "--label", SERIAL, "--operator", "T17"),
        *("--station", "B2", "--stick", "S9"),
    )
    assert (told.code, told.err) == (0, "")
    report = written(place)
    assert report.circumstances.handling == Handling(
        operator="T17", station="B2", stick="S9", stick_build=BUILD, label=SERIAL
    )
    assert rules(report)["order.label"] == "pass"
    assert report.words["order.label"].title == "Label of the unit"
    assert "made of" not in told.out


def test_station_and_stick_out_of_the_surroundings(
    place: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("CLOSEOUT_STATION", "B2")
    monkeypatch.setenv("CLOSEOUT_STICK", "S9")
    assert check(place, "--order", "WO-7", "--station", "B3").code == 0
    assert written(place).circumstances.handling == Handling(
        station="B3", stick="S9", stick_build=BUILD
    )
    assert check(place).code == 0
    handling = written(place, "no-order").circumstances.handling
    assert handling == Handling(station="B2", stick="S9", stick_build=BUILD)


@pytest.mark.parametrize("label", ["NW83KD21", "OTHER", "NW83KD2"])
def test_a_label_of_another_unit_holds_and_withholds_every_value(place: Path, label: str) -> None:
    swapped = ("--order", "WO-7", "--repair", "system-board")
    write_order(place / "orders", serial="OTHERUNIT")
    check(place, *swapped, "--label", "OTHERUNIT")
    agreed = written(place).hand_back
    assert agreed is not None
    assert [item.value for item in agreed.items if item.value] == ["OTHERUNIT"]
    told = check(place, *swapped, "--label", label)
    assert told.code == 1
    report = written(place)
    assert report.circumstances.handling.label == label
    assert report.hand_back is not None
    assert report.hand_back.withheld
    assert not any(item.value for item in report.hand_back.items)
    assert report.first_steps[0].rules == ("order.label",)


def test_a_label_that_differs_holds_a_healthy_unit(place: Path) -> None:
    told = check(place, "--order", "WO-7", "--label", "NW83KD21")
    report = written(place)
    assert (told.code, report.verdict) == (1, Verdict.HOLD)
    assert rules(report)["order.label"] == "fail"
    page = next((place / "closeout-reports" / "WO-7").iterdir()) / "report.html"
    assert "Work order" in page.read_text()


def test_the_label_of_a_redacted_report_is_masked(place: Path) -> None:
    told = check(place, "--order", "WO-7", "--label", "NW83KD21", "--redact")
    (finding,) = (one for one in written(place).findings if one.rule == "order.label")
    assert SERIAL not in finding.expected
    assert "NW83KD21" not in finding.found
    assert "NW83KD21" not in told.out
    for file in everything(place / "closeout-reports").values():
        assert b"NW83KD21" not in file


def test_findings_stay_in_their_order_with_the_label_among_them(place: Path) -> None:
    check(place, "--order", "WO-7", "--label", SERIAL)
    found = [(one.weight.value, one.outcome.value) for one in written(place).findings]
    weights, outcomes = (
        ["must", "should", "note"],
        ["fail", "unread", "uncovered", "review", "pass"],
    )
    assert found == sorted(
        found, key=lambda pair: (weights.index(pair[0]), outcomes.index(pair[1]))
    )


def test_the_model_says_how_its_label_shows_the_serial(place: Path) -> None:
    profile = place / "own.toml"
    profile.write_text(OWN_PROFILE)
    check(place, "--order", "WO-7", "--label", "S/N: NW-83KD20", "--profile", profile)
    report = written(place)
    assert report.circumstances.handling.label == SERIAL
    assert rules(report)["order.label"] == "pass"


OWN_PROFILE = """
profile = 1
id = "own/model"
revision = "1"
title = "One model"

[label.serial]
prefixes = ["S/N:"]
hyphens = "drop"

[[demand]]
class = "system"
weight = "must"
attribute = "serial"
filled = true
"""


def test_an_order_of_which_there_is_no_file_is_made_of_the_scans(place: Path) -> None:
    told = check(place, "--order", "WO-99", "--label", SERIAL)
    assert told.code == 0
    made = f"Order WO-99: no file of it in {place / 'orders'}; it is made of order and label alone."
    assert told.out.splitlines()[0] == made
    report = written(place, "WO-99")
    source = report.circumstances.work_order
    assert source is not None
    assert (source.name, source.revision) == ("WO-99", "scanned")
    assert "order.label" not in rules(report)
    (finding,) = (
        one for one in report.findings if one.rule == "system.serial" and one.expected == SERIAL
    )
    assert finding.origin == "scanned label"


def test_an_order_made_of_its_number_alone(place: Path) -> None:
    told = check(place, "--order", "WO-99", "--quiet")
    assert told.out.count("\n") == 1
    assert "no serial is compared" in told.err
    told = check(place, "--order", "WO-98", "--json")
    assert load_report(told.raw).circumstances.order == "WO-98"
    assert "no serial is compared" in told.err


def test_the_label_of_another_unit_on_an_order_made_of_scans_holds(place: Path) -> None:
    assert check(place, "--order", "WO-99", "--label", "NW83KD21").code == 1


def test_rework_of_an_order_made_of_scans(place: Path) -> None:
    check(place, "--order", "WO-99", "--label", SERIAL)
    (first,) = (place / "closeout-reports" / "WO-99").iterdir()
    assert check(place, "--again", first, "--operator", "T2").code == 0
    before, again = load(first), written(place, "WO-99")
    assert again.circumstances.work_order == before.circumstances.work_order
    assert (again.circumstances.attempt, again.circumstances.handling.operator) == (2, "T2")
    assert "scanned label" in {finding.origin for finding in again.findings}
    assert check(place, "--again", first.with_name(again_name(place)), "--label", "X1").code == 1
    assert rules(written(place, "WO-99"))["order.label"] == "fail"


def again_name(place: Path) -> str:
    return max(path.name for path in (place / "closeout-reports" / "WO-99").iterdir())


def test_a_label_without_a_serial_to_hold_it_against_is_only_told(place: Path) -> None:
    (place / "orders" / "WO-8.toml").write_text(NAMELESS)
    assert check(place, "--order", "WO-8", "--label", "X1").code == 0
    report = written(place, "WO-8")
    assert (report.circumstances.handling.label, "order.label" in rules(report)) == ("X1", False)
    assert check(place, "--label", "X2").code == 0
    assert written(place, "no-order").circumstances.handling.label == "X2"


def test_where_orders_are_looked_for(place: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    other = place / "other"
    other.mkdir()
    write_order(other, "WO-70")
    assert "made of" in check(place, "--order", "WO-70").out
    assert "made of" not in check(place, "--order", "WO-70", "--orders", "other").out
    (place / "orders").rename(place / "away")
    assert "no folder of orders is here" in check(place, "--order", "WO-70").out
    monkeypatch.setenv("CLOSEOUT_ORDERS", str(other))
    assert "made of" not in check(place, "--order", "WO-70").out


@pytest.mark.parametrize(
    "typed",
    ["wo-7", "]C0WO-7", "WOß7", "ZO)è", "WO'7", "WO+7", "\x02WO-7\x03", " WO-7 "],
)
def test_an_order_is_found_however_the_scanner_types_it(place: Path, typed: str) -> None:
    assert check(place, "--order", typed, "--label", SERIAL.lower()).code == 0
    assert written(place).circumstances.handling.label == SERIAL


@pytest.mark.parametrize(
    ("arguments", "wrong"),
    [
        (("--order", "../WO-7"), "--order: '../WO-7' is no order; allowed: at most 64 letters"),
        (("--order", "no-order"), "--order: 'no-order' is no order"),
        (("--order", "x" * 41), "--order: longer than 40 characters"),
        (("--order", KEY), "--order: a text in the form of a licence key"),
        (("--order", "\x02"), "--order: nothing is typed"),
        (("--label", KEY), "--label: a text in the form of a licence key"),
        (("--label", "x" * 41), "--label: longer than 40 characters"),
        (("--operator", "x" * 41), "--operator: longer than 40 characters"),
        (("--station", KEY), "--station: a text in the form of a licence key"),
        (("--stick", "x" * 41), "--stick: longer than 40 characters"),
        (("--order", "WO-7", "--orders", "gone"), "no such folder; name the one with the orders"),
        (("--order", "WO-7", "--work-order", "orders/WO-7.toml"), "give one of them"),
        (("--order", "WO-7", "--again", "gone"), "with --again the order is that of"),
        (("--order", "WO-6"), "it is of order 'WO-5'; give the file the name of its order"),
        (("--order", "X'YZ"), "--order: \"X'YZ\" can be 'X-YZ' or 'X-ZY' or 'X4YW', by the layout"),
        (("--scan",), "--scan: nobody sits at a terminal"),
    ],
)
def test_what_is_refused_is_one_line(place: Path, arguments: tuple[str, ...], wrong: str) -> None:
    (place / "orders" / "WO-6.toml").write_text(ORDER.format(order="WO-5", serial="X"))
    told = check(place, *arguments)
    assert (told.code, told.out) == (2, "")
    (line,) = told.err.splitlines()
    assert wrong in line
    assert KEY not in line
    assert not (place / "closeout-reports").exists()


def test_three_scans(place: Path) -> None:
    told = scan(place, b"]C0WO-7\r\n]C0nw83kd20\r\nT17\r\n")
    assert told.code == 0
    assert [told.out.count(prompt) for prompt in SCANS] == [1, 1, 1]
    handling = written(place).circumstances.handling
    assert handling == Handling(operator="T17", stick_build=BUILD, label=SERIAL)


def test_the_operator_that_was_scanned_answers_the_questions(tmp_path: Path) -> None:
    healthy(tmp_path / "unit", maker="Northlake", product="Fen 14")
    told = check(tmp_path, "--scan", typed=b"\n\nT17\nyes\nstop\n")
    assert "Your code" not in told.out
    (answer,) = (one.answer for one in written(tmp_path, "no-order").findings if one.answer)
    assert answer.by == "T17"


def test_enter_skips_each_and_says_what_that_means(place: Path) -> None:
    told = scan(place, b"\n\n\n")
    assert told.code == 0
    for words in ("held against its model alone", "nobody compares", "does not say who checked"):
        assert told.out.count(words) == 1
    assert written(place, "no-order").circumstances.handling == Handling(stick_build=BUILD)


@pytest.mark.parametrize(("typed", "prompts"), [(b"STOP\n", 1), (b"", 3), (b"NEXT\nstop\n", 2)])
def test_stop_and_the_end_of_the_input_ask_no_more(place: Path, typed: bytes, prompts: int) -> None:
    told = scan(place, typed)
    asked = sum(told.out.count(prompt) for prompt in SCANS)
    assert (told.code, asked) == (0, 1 if not typed else prompts)


@pytest.mark.parametrize(
    ("typed", "wrong"),
    [
        (b"YES\nWO-7\n\n\n", "that is a word of the answer card"),
        (b"../7\nWO-7\n\n\n", "order: '../7' is no order"),
        (KEY.encode() + b"\nWO-7\n\n\n", "order: a text in the form of a licence key"),
        (b"WO-7\nwo-7\n\n\n", "that is the order once more"),
        (b"WO-7\n" + b"x" * 41 + b"\n\n\n", "label: longer than 40 characters"),
        (b"WO-7\n\n" + KEY.encode() + b"\n\n", "code: a text in the form of a licence key"),
        (b"X'YZ\nWO-7\n\n\n", "by the layout of the keyboard"),
    ],
)
def test_what_cannot_be_meant_is_asked_again(place: Path, typed: bytes, wrong: str) -> None:
    told = scan(place, typed)
    assert told.code == 0
    assert wrong in " ".join(told.out.split())
    assert sum(told.out.count(prompt) for prompt in SCANS) == 4
    assert KEY not in told.out
    assert written(place).circumstances.order == "WO-7"


def test_a_scanner_on_a_foreign_layout_is_understood_without_a_file_too(place: Path) -> None:
    told = scan(place, "WOß99\nNZ83KD20\nTß17\n".encode())
    report = written(place, "WO-99")
    handling = report.circumstances.handling
    assert (handling.operator, handling.label, told.code) == ("T-17", "NY83KD20", 1)


def test_what_options_say_is_not_asked(place: Path) -> None:
    order = place / "orders" / "WO-7.toml"
    told = scan(place, b"NW83KD20\n", "--work-order", order, "--operator", "T1")
    assert [told.out.count(prompt) for prompt in SCANS] == [0, 1, 0]
    told = scan(place, b"T2\n", "--order", "WO-7", "--label", SERIAL)
    assert [told.out.count(prompt) for prompt in SCANS] == [0, 0, 1]


@pytest.mark.parametrize("options", [("--json",), ("--quiet",)])
def test_scans_and_a_machine_that_reads_along_do_not_go_together(
    place: Path, options: tuple[str, ...]
) -> None:
    assert scan(place, b"WO-7\n\n\n", *options).code == 2


def test_scans_are_asked_for_only_where_a_live_unit_and_a_person_are(place: Path) -> None:
    asked = call_in(place, "check", typed=b"WO-7\n\n\n")
    assert SCANS[0] in asked.out
    for options in (("--no-scan",), ("--quiet",), ("--json",), ("--order", "WO-7")):
        told = call_in(place, "check", *options, typed=b"WO-7\n\n\n")
        assert SCANS[0] not in told.out
    assert SCANS[0] not in check(place, typed=b"").out
    assert SCANS[0] not in call_in(place, "check", stdin=b"WO-7\n").out


def test_repairs_are_scanned_off_the_card_where_no_file_names_them(place: Path) -> None:
    typed = f"WO-99\n{SERIAL}\nT17\nSYSTEM-BOARD\nroof\n]C0Battery\nbattery\n\n".encode()
    told = scan(place, typed)
    report = written(place, "WO-99")
    assert report.circumstances.repairs == ("system-board", "battery")
    assert "no such repair; one of: system-board" in told.out
    assert told.out.count("Enter = no more") == 1
    assert {one.rule for one in report.findings} >= {"connection.panel-cable"}
