"""A report as `report.json`, format 1; `from_json` is the way back.

Keys stand in the order of the records, mappings in their own. The schema is
`reports/report-1.schema.json`.
"""

from __future__ import annotations

from typing import Final

from closeout.model.catalogue import Entry
from closeout.model.finding import Finding
from closeout.model.inventory import Inventory
from closeout.model.report import Report, Step
from closeout.report.circumstances_json import tree_of_circumstances
from closeout.report.handling_json import (
    tree_of_earlier,
    tree_of_hand_back,
    tree_of_revision,
    tree_of_saying,
    tree_of_void,
)
from closeout.report.inventory_json import tree_of_inventory
from closeout.report.json_text import dump_json

FORMAT: Final = 1


def render_json(report: Report) -> bytes:
    """The report as UTF-8 JSON; the same report gives the same bytes."""
    return dump_json(
        {
            "report": FORMAT,
            "verdict": report.verdict.value,
            "reasons": list(report.reasons),
            "first_steps": [_tree_of_step(step) for step in report.first_steps],
            "circumstances": tree_of_circumstances(report.circumstances),
            "findings": [_tree_of_finding(finding) for finding in report.findings],
            "inventory": tree_of_inventory(report.inventory),
            "words": {rule: _tree_of_entry(entry) for rule, entry in report.words.items()},
            "reader_microseconds": dict(report.reader_microseconds),
            "redacted": report.redacted,
            "unanswered": [
                {"question": each.question, "error": each.error} for each in report.unanswered
            ],
            "hand_back": None if report.hand_back is None else tree_of_hand_back(report.hand_back),
            "earlier": [tree_of_earlier(each) for each in report.earlier],
            "revisions": [tree_of_revision(each) for each in report.revisions],
            "void": [tree_of_void(each) for each in report.void],
        }
    )


def render_inventory_json(inventory: Inventory) -> bytes:
    """The inventory alone, as it stands in a report under `inventory`."""
    return dump_json({"inventory": tree_of_inventory(inventory)})


def _tree_of_step(step: Step) -> dict[str, object]:
    return {
        "title": step.title,
        "action": step.action,
        "rules": list(step.rules),
        "caution": step.caution,
    }


def _tree_of_finding(finding: Finding) -> dict[str, object]:
    answer, concession = finding.answer, finding.concession
    return {
        "rule": finding.rule,
        "subject": finding.subject,
        "label": finding.label,
        "weight": finding.weight.value,
        "outcome": finding.outcome.value,
        "expected": finding.expected,
        "found": finding.found,
        "origin": finding.origin,
        "evidence": list(finding.evidence),
        "answerable": finding.answerable,
        "answer": None if answer is None else tree_of_saying(answer),
        "concession": None if concession is None else tree_of_saying(concession),
        "connection": finding.connection,
    }


def _tree_of_entry(entry: Entry) -> dict[str, object]:
    return {
        "title": entry.title,
        "meaning": entry.meaning,
        "impact": entry.impact,
        "advice": entry.advice,
        "caution": entry.caution,
        "question": entry.question,
        "answerable": entry.answerable,
    }
