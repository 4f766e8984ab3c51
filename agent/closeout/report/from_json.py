"""A report out of the bytes of a `report.json`. Format 1: old reports load for ever.

A field added later has a default here; what a newer version added is left alone.
"""

from __future__ import annotations

from closeout.model.catalogue import Entry
from closeout.model.expectation import Weight
from closeout.model.finding import Finding, Outcome
from closeout.model.report import Report, Step, Unanswered
from closeout.model.verdict import Verdict
from closeout.report.as_json import FORMAT
from closeout.report.circumstances_from_json import load_circumstances
from closeout.report.failure import ReportError
from closeout.report.fields import Fields, as_fields
from closeout.report.handling_from_json import (
    load_answer,
    load_concession,
    load_earlier,
    load_hand_back,
    load_revision,
    load_void,
)
from closeout.report.inventory_from_json import load_inventory
from closeout.report.json_text import parse_json


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
