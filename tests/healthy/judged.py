"""Healthy units, and what they are found to be: on their own profile and on any notebook's."""

import tempfile
from functools import cache
from pathlib import Path
from typing import Final

from closeout.check import Readout, judge_evidence
from closeout.cli.demo import demo_units
from closeout.cli.terms import Demands, load_demands
from closeout.judge.clock import hold_clocks
from closeout.kernel.evidence_file import decode_evidence
from closeout.kernel.record import Answer, Question
from closeout.kernel.replies import Replies
from closeout.model.inventory import Inventory
from closeout.model.report import Report
from closeout.readers import READERS
from closeout.readers.start import read_start
from failures.rejudged_unit import ORDER_FILE, read_section
from healthy.shown_unit import ShownUnit, answer_for, evidence_of, shown_in

FIXTURES: Final = Path(__file__).parents[1] / "notebook" / "fixtures"
ANY: Final = "any-notebook"


RELEASED: Final = next(one for one in demo_units() if one.verdict == "release")


def _load_fen() -> ShownUnit:
    """The unit of the demo that is released on its own profile, under its own order."""
    order = (RELEASED.folder / ORDER_FILE).read_text(encoding="utf-8")
    return shown_in(RELEASED.evidence(), order)


def _load_recorded(name: str) -> ShownUnit:
    """A recorded notebook without an order."""
    raw = (FIXTURES / name / "root" / "unit.jsonl.gz").read_bytes()
    return shown_in(decode_evidence(raw))


FEN: Final = _load_fen()
OTHERS: Final = {name: _load_recorded(name) for name in ("osier-15", "skerry-13")}
"""Released on any notebook's profile; what their own holds against them is no variation's."""


class ShownTree(Replies):
    """The unit as a kernel would show it: what nobody drew is not there."""

    def __init__(self, unit: ShownUnit) -> None:
        self._answers = unit.answers
        self._known: dict[Question, Answer] = {}

    def reply(self, question: Question) -> Answer:
        """What is shown under it."""
        if question not in self._known:
            self._known[question] = answer_for(self._answers, question)
        return self._known[question]


def read_unit(unit: ShownUnit) -> Readout:
    """Every device; a reader's fault is raised, not made a finding."""
    tree = ShownTree(unit)
    sections = tuple(read_section(tree, reader) for reader in READERS)
    inventory = hold_clocks(Inventory(sections=sections), unit.header.references)
    return Readout(inventory=inventory, start=read_start(tree), microseconds={})


@cache
def demands_of(order: str) -> Demands:
    """The order's; without an order any notebook's."""
    if not order:
        return load_demands(ANY, None)
    with tempfile.TemporaryDirectory() as folder:
        file = Path(folder, ORDER_FILE)
        file.write_text(order, encoding="utf-8")
        return load_demands(None, file)


def judge(unit: ShownUnit, readout: Readout, order: str) -> Report:
    """The report under an order's terms; what a person sees is as it should be."""
    terms = demands_of(order).terms(readout.inventory, 1)
    report = judge_evidence(evidence_of(unit), readout, terms)
    return RELEASED.answer(report) if order else report


def judge_on_any(unit: ShownUnit, readout: Readout) -> Report:
    """The report under any notebook's profile."""
    return judge(unit, readout, "")


def shown_refusals(report: Report) -> list[str]:
    """What is not passed of the musts, for the message of a test."""
    return [
        f"{finding.rule} {finding.outcome.value}: {finding.subject}: {finding.found}"
        for finding in report.findings
        if finding.weight.value == "must" and finding.outcome.value != "pass"
    ]
