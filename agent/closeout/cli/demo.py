"""`closeout demo`: the shipped demo units, judged and reported."""

from __future__ import annotations

import argparse
import tomllib
from collections.abc import Iterator
from pathlib import Path
from typing import Final

from closeout.cli.closing import REPORTS, Form, close_unit
from closeout.cli.surroundings import Surroundings
from closeout.cli.terms import load_demands
from closeout.cli.trouble import DONE, ExitCode
from closeout.cli.words import say_line
from closeout.expect.shipped import shipped_folder
from closeout.judge.saying import say
from closeout.kernel.evidence import Evidence
from closeout.kernel.evidence_file import decode_evidence
from closeout.model.finding import Answer, Reply
from closeout.model.frozen import frozen
from closeout.model.report import Report

LIST: Final = "demo.toml"
UNIT_FILE: Final = "unit.jsonl.gz"
ORDER_FILE: Final = "work-order.toml"
ANSWERS_FILE: Final = "answers.toml"
"""What a person said of the unit; not every unit has one."""


@frozen
class DemoUnit:
    """An invented unit: its files, what is the matter with it, and the verdict it shipped with."""

    folder: Path
    title: str
    verdict: str

    def evidence(self) -> Evidence:
        """Everything that was read of it."""
        file = self.folder / UNIT_FILE
        return decode_evidence(file.read_bytes(), name=UNIT_FILE)

    def answer(self, report: Report) -> Report:
        """The report with what a person said of the unit."""
        file = self.folder / ANSWERS_FILE
        if not file.is_file():
            return report
        said = tomllib.loads(file.read_text(encoding="utf-8"))
        facts = report.circumstances
        answer = Answer(
            reply=Reply.YES,
            by=said["by"],
            reason=said["reason"],
            at=facts.finished,
            attempt=facts.attempt,
        )
        for number, finding in enumerate(report.findings, start=1):
            if finding.rule in said["yes"]:
                report = say(report, number, answer)
        return report


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Adds the output folder."""
    parser.add_argument(
        "--out", metavar="DIR", type=Path, help=f"folder for reports (else: ./{REPORTS})"
    )


def run(options: argparse.Namespace, surroundings: Surroundings) -> ExitCode:
    """Judges every unit; ends well when every verdict is the one it shipped with."""
    root = surroundings.folder / (options.out or REPORTS)
    ending = DONE
    for unit in demo_units():
        say_line("", surroundings.stdout)
        say_line(f"=== {unit.folder.name}: {unit.title}", surroundings.stdout)
        demands = load_demands(None, unit.folder / ORDER_FILE)
        report = close_unit(unit.evidence(), demands, root, Form(), surroundings, unit.answer)
        if report.verdict.value != unit.verdict:
            say_line(f"shipped as {unit.verdict}: this is not as it should be", surroundings.stdout)
            ending = ExitCode.INTERNAL
    return ending


def demo_units() -> Iterator[DemoUnit]:
    """The shipped units in the order of their list."""
    folder = shipped_folder("profiles") / "demo"
    listed = tomllib.loads((folder / LIST).read_text(encoding="utf-8"))
    for unit in listed["unit"]:
        yield DemoUnit(folder=folder / unit["folder"], title=unit["title"], verdict=unit["verdict"])
