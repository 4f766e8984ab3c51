"""A day of ten units at one bench, played through the console, each step counted.

A step is a scan (one pull of the trigger) or a line typed by hand, counted in keystrokes with Enter.
The units are the demo's healthy one with other serials, so they show what a kernel showed.
"""

from dataclasses import dataclass, field
from pathlib import Path

import pytest

from closeout.cli.demo import DemoUnit, demo_units
from closeout.kernel.evidence import Evidence, seal_journal
from closeout.kernel.evidence_file import encode_evidence
from closeout.model.frozen import replace
from closeout.model.report import Report
from closeout.report.as_json import load_report
from strategies.surroundings import Told, call_in

HEALTHY, RIBBON = (
    next(unit for unit in demo_units() if unit.folder.name == name)
    for name in (
        "fen-14-healthy",
        "fen-14-ribbon-left-out",
    )
)
SERIAL = "NL7QK42D"
RIBBON_SERIAL = "NL7QK51M"
OPERATOR = "D-07"
MOST_QUESTIONS = 40
YES = "YES\n"


@dataclass(slots=True)
class Bench:
    """One place with its folder of orders; what its hands did is counted."""

    folder: Path
    scans: int = 0
    keystrokes: int = 0
    steps: dict[str, tuple[int, int]] = field(default_factory=dict)

    def order(self, number: int, repairs: list[str], serial: str) -> str:
        name = f"RX-{number}"
        (self.folder / "orders").mkdir(exist_ok=True)
        (self.folder / "orders" / f"{name}.toml").write_text(
            f'work_order = 1\norder = "{name}"\nprofile = "northlake/fen-14"\n'
            f'repairs = {repairs!r}\n[unit]\nserial = "{serial}"\nproduct = "Fen 14"\n'
        )
        return name

    def check(self, name: str, serial: str, evidence: Path, answers: list[str]) -> Told:
        """Three scans, then an answer to each question; a line in capitals is a scan."""
        typed = [name, serial, OPERATOR]
        lines = [*typed, *answers]
        told = call_in(
            self.folder,
            *("check", "--scan", "--evidence", evidence),
            typed="".join(f"{line}\n" for line in lines).encode(),
        )
        asked = told.out.count("Question ")
        self._count(name, [*typed, *answers[: asked + sum(line.islower() for line in answers)]])
        return told

    def command(self, name: str, *arguments: object) -> Told:
        """A command typed by hand, counted to its last letter."""
        told = call_in(self.folder, *arguments)
        self._count(name, [" ".join(["closeout", *map(str, arguments)]).lower()])
        return told

    def _count(self, name: str, lines: list[str]) -> None:
        scans = sum(not line.islower() for line in lines)
        keys = sum(len(line) + 1 for line in lines if line.islower())
        before = self.steps.get(name, (0, 0))
        self.steps[name] = (before[0] + scans, before[1] + keys)

    def newest(self, name: str) -> Path:
        return max((self.folder / "closeout-reports" / name).iterdir(), key=lambda path: path.name)

    def report(self, name: str) -> Report:
        return load_report((self.newest(name) / "report.json").read_bytes())


@pytest.fixture
def bench(tmp_path: Path) -> Bench:
    return Bench(tmp_path)


def renamed(unit: DemoUnit, before: str, serial: str) -> Evidence:
    """The unit with another serial of the same length wherever it stands."""
    evidence = unit.evidence()
    journal = {
        record.question: replace(
            record, answer=record.answer.replace(before.encode(), serial.encode())
        )
        if isinstance(record.answer, bytes)
        else record
        for record in evidence.records
    }
    return seal_journal(evidence.header, journal)


def keep(folder: Path, name: str, evidence: Evidence) -> Path:
    file = folder / f"{name}.jsonl.gz"
    file.write_bytes(encode_evidence(evidence))
    return file


ALL_YES = ["YES"] * MOST_QUESTIONS
PLAIN = (
    (1, ["system-board"]),
    (2, ["battery"]),
    (3, ["touchpad"]),
    (4, ["memory"]),
    (5, ["drive", "wireless-module"]),
    (6, ["fan-heat-sink"]),
)
MOST_SCANS = {1: 3 + 20, 2: 3 + 6, 3: 3 + 5, 4: 3 + 4, 5: 3 + 5, 6: 3 + 5}


def test_a_day_of_ten_units(bench: Bench) -> None:
    for number, repairs in PLAIN:
        serial = f"NL7QK{number:03d}"
        name = bench.order(number, repairs, serial)
        file = keep(bench.folder, name, renamed(HEALTHY, SERIAL, serial))
        told = bench.check(name, serial, file, ALL_YES)
        assert told.code == 0, told.out
        assert bench.report(name).circumstances.handling.operator == OPERATOR
        scans, keys = bench.steps[name]
        assert 3 < scans <= MOST_SCANS[number]
        assert keys == 0

    # The seventh: a ribbon left out, reseated, and checked again without starting anew.
    seventh = bench.order(7, ["keyboard-top-cover"], RIBBON_SERIAL)
    first = keep(bench.folder, "7a", RIBBON.evidence())
    assert bench.check(seventh, RIBBON_SERIAL, first, ALL_YES).code == 1
    answered = bench.report(seventh)
    second = keep(bench.folder, "7b", renamed(HEALTHY, SERIAL, RIBBON_SERIAL))
    again = call_in(
        bench.folder,
        *("check", "--again", bench.newest(seventh), "--reopened", "fingerprint-reader"),
        *("--evidence", second),
        typed=(YES * MOST_QUESTIONS).encode(),
    )
    mended = bench.report(seventh)
    assert again.code == 0, again.out
    assert [(each.attempt, each.verdict) for each in mended.earlier] == [(1, "hold")]
    kept = {one.rule for one in mended.findings if one.answer and one.answer.attempt == 1}
    anew = {one.rule for one in mended.findings if one.answer and one.answer.attempt == 2}
    assert "connection.keyboard-ribbon" in kept
    assert {"connection.fingerprint-ribbon", "connection.case-and-screws"} <= anew
    assert len(anew) < sum(one.answer is not None for one in answered.findings)

    # The eighth: the picture flickers, and the lead lets it go with a new panel on order.
    eighth = bench.order(8, ["panel"], "NL7QK008")
    file = keep(bench.folder, "8", renamed(HEALTHY, SERIAL, "NL7QK008"))
    findings = ["YES", "YES", "NO", "flickers at one angle"]
    told = bench.check(eighth, "NL7QK008", file, [*findings, *ALL_YES])
    assert told.code == 1, told.out
    number = next(
        place
        for place, one in enumerate(bench.report(eighth).findings, start=1)
        if one.answer and one.answer.reply.value == "no"
    )
    conceded = bench.command(
        eighth,
        *("concede", bench.newest(eighth), number, "--by", "L-01", "--reason", "panel on order"),
    )
    assert conceded.code == 0, conceded.err
    assert bench.report(eighth).verdict.value == "release"

    # The ninth: one question is left for later, and answered from the desk.
    ninth = bench.order(9, ["speakers"], "NL7QK009")
    file = keep(bench.folder, "9", renamed(HEALTHY, SERIAL, "NL7QK009"))
    assert bench.check(ninth, "NL7QK009", file, ["NEXT", *ALL_YES]).code == 3
    left = next(
        place
        for place, one in enumerate(bench.report(ninth).findings, start=1)
        if one.weight.value == "must" and one.outcome.value == "review" and not one.answer
    )
    saying = ("answer", bench.newest(ninth), left, "yes", "--by", OPERATOR, "--reason", "seen")
    assert bench.command(ninth, *saying).code == 0
    assert bench.report(ninth).verdict.value == "release"

    # The tenth does not boot.
    tenth = ("unrun", "--order", "RX-10", "--reason", "no-boot", "--by", OPERATOR)
    assert bench.command("RX-10", *tenth).code == 0
    assert bench.newest("RX-10").name == "unrun-0001"

    total = [sum(each[place] for each in bench.steps.values()) for place in (0, 1)]
    assert len(bench.steps) == 10
    # A board swap is the longest; the day fits hands: under ten scans a unit on the average.
    assert total[0] <= 100
    assert total[1] <= 1200
    for name, (scans, keys) in bench.steps.items():
        print(f"{name}: {scans} scans, {keys} keystrokes")  # noqa: T201 - seen with `pytest -s`
