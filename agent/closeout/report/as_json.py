"""A report as `report.json` and back. Format 1: old reports load for ever.

Keys stand in the order of the records, mappings in their own. A field added later has a default
here; what a newer version added is left alone. The schema is `reports/report-1.schema.json`.
"""

from __future__ import annotations

from typing import Final

from closeout.model.catalogue import Entry
from closeout.model.expectation import Weight
from closeout.model.finding import Finding, Outcome
from closeout.model.inventory import Inventory
from closeout.model.report import Report, Step, Unanswered
from closeout.model.verdict import Verdict
from closeout.report.circumstances_json import load_circumstances, tree_of_circumstances
from closeout.report.failure import ReportError
from closeout.report.fields import Fields, as_fields
from closeout.report.handling_json import (
    load_answer,
    load_concession,
    load_earlier,
    load_hand_back,
    load_revision,
    load_void,
    tree_of_earlier,
    tree_of_hand_back,
    tree_of_revision,
    tree_of_saying,
    tree_of_void,
)
from closeout.report.inventory_json import load_inventory, tree_of_inventory
from closeout.report.json_text import dump_json, parse_json

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


def load_report(raw: bytes) -> Report:
    """The report in the bytes of a `report.json`.

    Raises ReportError, with the place, for anything that is no report of a known format.
    """
    report = as_fields(parse_json(raw), "")
    found = report.integer("report")
    if found != FORMAT:
        raise ReportError("report", f"format {found} is not known here; format {FORMAT} is")
    return Report(
        verdict=report.choice("verdict", Verdict),
        reasons=report.texts("reasons"),
        first_steps=tuple(_load_step(step) for step in report.each("first_steps")),
        circumstances=load_circumstances(report.fields("circumstances")),
        inventory=load_inventory(report.fields("inventory")),
        findings=tuple(_load_finding(finding) for finding in report.each("findings")),
        words=_load_words(report.fields("words")),
        reader_microseconds=_load_durations(report.fields("reader_microseconds")),
        redacted=report.flag("redacted"),
        unanswered=tuple(_load_unanswered(each) for each in report.each("unanswered", [])),
        hand_back=report.optional("hand_back", load_hand_back),
        earlier=tuple(load_earlier(each) for each in report.each("earlier", [])),
        revisions=tuple(load_revision(each) for each in report.each("revisions", [])),
        void=tuple(load_void(each) for each in report.each("void", [])),
    )


def _load_unanswered(each: Fields) -> Unanswered:
    return Unanswered(question=each.text("question"), error=each.text("error"))


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


def _load_step(step: Fields) -> Step:
    return Step(
        title=step.text("title"),
        action=step.text("action"),
        rules=step.texts("rules"),
        caution=step.text("caution", ""),
    )


def _load_finding(finding: Fields) -> Finding:
    return Finding(
        rule=finding.text("rule"),
        subject=finding.text("subject"),
        label=finding.text("label"),
        weight=finding.choice("weight", Weight),
        outcome=finding.choice("outcome", Outcome),
        expected=finding.text("expected"),
        found=finding.text("found"),
        origin=finding.text("origin"),
        evidence=finding.texts("evidence"),
        answerable=finding.flag("answerable"),
        answer=finding.optional("answer", load_answer),
        concession=finding.optional("concession", load_concession),
        connection=finding.text("connection", default=""),
    )


def _load_words(words: Fields) -> dict[str, Entry]:
    return {rule: _load_entry(words.fields(rule)) for rule in words.content}


def _load_entry(entry: Fields) -> Entry:
    return Entry(
        title=entry.text("title"),
        meaning=entry.text("meaning"),
        impact=entry.text("impact"),
        advice=entry.text("advice"),
        caution=entry.text("caution"),
        question=entry.text("question"),
        answerable=entry.flag("answerable"),
    )


def _load_durations(durations: Fields) -> dict[str, int]:
    return {reader: durations.integer(reader) for reader in durations.content}
