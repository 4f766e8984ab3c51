"""One bench of a depot: orders, units, and what its hands scan and type, counted.

A step is a scan (one pull of the trigger) or a line typed by hand, in keystrokes with Enter.
The units are the demo's with other serials, so they show what a kernel showed.
"""

from dataclasses import dataclass, field
from pathlib import Path

from closeout.cli.demo import DemoUnit, demo_units
from closeout.kernel.evidence import seal_journal
from closeout.kernel.evidence_file import encode_evidence
from closeout.kernel.record import Record
from closeout.model.frozen import replace
from closeout.model.report import Report
from closeout.report.from_json import load_report
from strategies.surroundings import Told, call_in

OPERATOR = "D-07"
SERIALS = {"fen-14-healthy": "NL7QK42D", "fen-14-ribbon-left-out": "NL7QK51M"}
"""Of the demo's units, as their firmware has them."""
ORDER = """work_order = 1
order = "{name}"
profile = "northlake/fen-14"
repairs = {repairs!r}
[unit]
serial = "{serial}"
product = "Fen 14"
"""


@dataclass(slots=True)
class Bench:
    """A folder with orders and reports; `steps` holds scans and keystrokes by order."""

    folder: Path
    steps: dict[str, tuple[int, int]] = field(default_factory=dict)

    def take_in(self, number: int, repairs: list[str], serial: str) -> str:
        """Writes the order and returns its number."""
        name = f"RX-{number}"
        (self.folder / "orders").mkdir(exist_ok=True)
        text = ORDER.format(name=name, repairs=repairs, serial=serial)
        (self.folder / "orders" / f"{name}.toml").write_text(text)
        return name

    def check(self, name: str, serial: str, evidence: Path, answers: list[str]) -> Told:
        """Three scans, then an answer to each question; what is in capitals is scanned."""
        arguments = ("check", "--scan", "--evidence", evidence)
        return self._ask(name, arguments, [name, serial, OPERATOR], answers)

    def check_again(self, name: str, evidence: Path, answers: list[str], reopened: str) -> Told:
        """The attempt after the newest one: nothing is scanned but answers."""
        again = ("check", "--again", self.newest(name), "--reopened", reopened)
        arguments = (*again, "--operator", OPERATOR, "--evidence", evidence)
        return self._ask(name, arguments, [], answers)

    def command(self, name: str, *arguments: object) -> Told:
        """A command typed by hand, counted to its last letter."""
        told = call_in(self.folder, *arguments)
        self._count(name, [" ".join(["closeout", *map(str, arguments)]).lower()])
        return told

    def newest(self, name: str) -> Path:
        """The folder written last for an order."""
        folders = (self.folder / "closeout-reports" / name).iterdir()
        return max(folders, key=lambda path: path.name)

    def report(self, name: str) -> Report:
        """What it holds."""
        return load_report((self.newest(name) / "report.json").read_bytes())

    def number_of(self, name: str, *, reply: str | None) -> int:
        """Of the first must with this answer; None for one that nobody has answered."""
        return next(
            number
            for number, one in enumerate(self.report(name).findings, start=1)
            if one.weight.value == "must"
            and one.outcome.value == "review"
            and (one.answer.reply.value if one.answer else None) == reply
        )

    def record(self, unit: str, serial: str) -> Path:
        """A file with what the demo's unit shows, under another serial of the same length."""
        file = self.folder / f"{serial}.jsonl.gz"
        file.write_bytes(_renamed(unit, serial))
        return file

    def _ask(
        self, name: str, arguments: tuple[object, ...], scans: list[str], answers: list[str]
    ) -> Told:
        typed = "".join(f"{line}\n" for line in [*scans, *answers])
        told = call_in(self.folder, *arguments, typed=typed.encode())
        reasons = sum(line.islower() for line in answers)
        self._count(name, [*scans, *answers[: told.out.count("Question ") + reasons]])
        return told

    def _count(self, name: str, lines: list[str]) -> None:
        scans, keys = self.steps.get(name, (0, 0))
        scans += sum(not line.islower() for line in lines)
        keys += sum(len(line) + 1 for line in lines if line.islower())
        self.steps[name] = (scans, keys)


def _renamed(name: str, serial: str) -> bytes:
    unit: DemoUnit = next(unit for unit in demo_units() if unit.folder.name == name)
    evidence = unit.evidence()
    before, after = SERIALS[name].encode(), serial.encode()

    def rename(record: Record) -> Record:
        if not isinstance(record.answer, bytes):
            return record
        return replace(record, answer=record.answer.replace(before, after))

    records = {record.question: rename(record) for record in evidence.records}
    return encode_evidence(seal_journal(evidence.header, records))
