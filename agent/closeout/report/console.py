"""A report and an inventory on a screen: words first, colour last, nothing cut.

Every text is made safe and fitted to the stream before the screen sees it. What is too long for
the line is wrapped, serials too.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from typing import Final

from closeout.model.expectation import CONNECTION, Weight
from closeout.model.finding import Finding, Outcome
from closeout.model.inventory import Inventory, Section
from closeout.model.report import Report
from closeout.model.verdict import Verdict
from closeout.report import description, story
from closeout.report.foreign import can_encode, fit_encoding, make_safe
from closeout.report.screen import Screen, columns, wrap

VERDICT_STYLES: Final = {
    Verdict.RELEASE: "bold green",
    Verdict.HOLD: "bold red",
    Verdict.UNDECIDED: "bold yellow",
}
OUTCOME_STYLES: Final = {
    Outcome.PASS: "green",
    Outcome.FAIL: "bold red",
    Outcome.REVIEW: "bold yellow",
    Outcome.UNREAD: "bold yellow",
    Outcome.UNCOVERED: "bold yellow",
}
STATE_STYLES: Final = {
    "value": "",
    "blank": "yellow",
    "filler": "yellow",
    "absent": "dim",
    "unreadable": "bold yellow",
}
MOST_REASONS: Final = 3
"""Reasons at the head of what is no release; the findings below hold every one of them."""
INDENT: Final = "    "
NARROWEST: Final = 8
"""Columns that a text gets at the least, whatever its indent and the terminal leave."""


def render_console(report: Report, screen: Screen, written: Sequence[str] = ()) -> None:
    """Verdict, reasons, what to do first, open findings, counts, unit, and where it was written."""
    desk = Desk(screen)
    _print_verdict(report, desk)
    _print_steps(report, desk)
    _print_findings(report, desk)
    _print_hand_back(report, desk)
    _print_counts(report, desk)
    desk.heading("Unit")
    for title, line in description.describe_unit(report.inventory):
        _print_line(title, line, desk)
    desk.line(f"Order: {story.name_attempt(report)}", lead="  ")
    for earlier in report.earlier:
        told = f"{earlier.verdict}, {earlier.started.text}"
        desk.line(told, lead=f"  attempt {earlier.attempt} before: ")
    for void in report.void:
        desk.line(f"void now, {void.rule}: {void.said}; {void.why}", lead="  ")
    if written:
        desk.heading("Written")
        for path in written:
            desk.one_line(path)


def render_quiet(report: Report, screen: Screen, written: Sequence[str] = ()) -> None:
    """The whole result on one line: verdict, order, attempt, first reason, where it was written."""
    Desk(screen).one_line("; ".join((*story.in_short(report), *written[:1])))


def render_inventory(inventory: Inventory, screen: Screen) -> None:
    """Every device with every reading; blank, filler, absent and unreadable stay apart."""
    desk = Desk(screen)
    for section in inventory.sections:
        remark = description.describe_listing(section)
        desk.heading(story.kind_title(section.kind) + (f": {remark}" if remark else ""))
        _print_devices(section, desk)


class Desk:
    """A screen with the few ways in which a report is laid out on it."""

    def __init__(self, screen: Screen) -> None:
        self._screen = screen
        self._encoding = screen.encoding

    def heading(self, text: str) -> None:
        """An empty line, and a line of its own."""
        self._screen.put()
        self.line(text, style="bold")

    def line(self, text: str, *, lead: str = "", style: str = "", lead_style: str = "") -> None:
        """The text after its lead, wrapped under itself where the terminal is narrow.

        Where a word would break behind the lead, the text gets lines of its own.
        """
        body, opening = self._fitted(text), self._fitted(lead)
        longest = max(map(columns, body.split()), default=0)
        needed = columns(opening) + max(longest, NARROWEST)
        if columns(opening) > len(INDENT) and needed > self._screen.width:
            self._screen.put((opening, lead_style))
            opening = INDENT
        room = max(NARROWEST, self._screen.width - columns(opening))
        for part in wrap(body, room):
            self._screen.put((opening, lead_style), (part, style))
            opening = " " * columns(opening)

    def one_line(self, text: str) -> None:
        """The text on one line however narrow the terminal is, so that it can be copied."""
        self._screen.put((self._fitted(text), ""))

    def symbol(self, symbol: str) -> str:
        """The symbol with a space behind, or nothing where the stream cannot show it."""
        return f"{symbol} " if can_encode(symbol, self._encoding) else ""

    def _fitted(self, text: str) -> str:
        return fit_encoding(make_safe(text), self._encoding)


def _print_verdict(report: Report, desk: Desk) -> None:
    symbol = desk.symbol(story.VERDICT_SYMBOLS[report.verdict])
    desk.line(f"{symbol}{story.headline(report).upper()}", style=VERDICT_STYLES[report.verdict])
    desk.line(story.meaning_of(report.verdict))
    if report.redacted:
        desk.line("Redacted: serials, addresses and tokens are masked.")
    shown = report.reasons if report.verdict is Verdict.RELEASE else report.reasons[:MOST_REASONS]
    for reason in shown:
        desk.line(reason, lead="- ")
    if len(shown) < len(report.reasons):
        desk.line(f"and {len(report.reasons) - len(shown)} more, listed below")


def _print_steps(report: Report, desk: Desk) -> None:
    desk.heading("Do first")
    if not report.first_steps:
        desk.line("nothing", lead="  ")
    for number, step in enumerate(report.first_steps, start=1):
        desk.line(f"{step.title}. {step.action}", lead=f"{number}. ")
        caution = story.caution_of(report, step)
        if caution:
            desk.line(caution, lead="   Caution: ", lead_style="bold yellow")


def _print_findings(report: Report, desk: Desk) -> None:
    """What is no pass, a line each; notes are left to the report."""
    findings = story.findings_to_see(report.findings)
    weighty = [finding for finding in findings if finding.weight is not Weight.NOTE]
    answered = [finding for finding in weighty if story.is_answered_yes(finding)]
    _print_answered(report, answered, desk)
    left = [finding for finding in weighty if finding not in answered]
    if left:
        desk.heading("Not a pass")
    for finding in left:
        symbol = desk.symbol(story.OUTCOME_SYMBOLS[finding.outcome])
        number = story.number_of(report, finding)
        lead = f"{symbol}{finding.outcome.value.upper()} {number} ({finding.weight.value}) "
        style = OUTCOME_STYLES[finding.outcome]
        desk.line(story.name_of(report, finding), lead=lead, lead_style=style)
        desk.line(_told(report, finding), lead="  ")
        _print_sayings(finding, desk)
    if any(finding.answerable and finding.answer is None for finding in left):
        desk.line("closeout answer REPORT NUMBER yes|no answers one later, by its number.")


def _told(report: Report, finding: Finding) -> str:
    """Expected and found; of what no reading tells, the question."""
    entry = report.words.get(finding.rule)
    if entry and entry.question and finding.kind == CONNECTION:
        return entry.question
    return f"expected {finding.expected}, found {finding.found}"


def _print_answered(report: Report, findings: Sequence[Finding], desk: Desk) -> None:
    """What a person has seen to be good, by who said so and why."""
    groups, _ = story.group_answers(report, findings)
    if groups:
        desk.heading("Answered yes")
    for group in groups:
        desk.line(f"by {group.by} ({group.reason}): {', '.join(group.names)}", lead="  ")


def _print_hand_back(report: Report, desk: Desk) -> None:
    """What is still to do, a value to a line, so that it can be copied."""
    if report.hand_back is None:
        return
    desk.heading("Still to do before hand-back")
    if report.hand_back.withheld:
        desk.line(report.hand_back.withheld, lead="  Withheld: ", lead_style="bold yellow")
    for number, item in enumerate(report.hand_back.items, start=1):
        desk.line(f"{item.title}. {item.action}", lead=f"{number}. ")
        if item.caution:
            desk.line(item.caution, lead="   Caution: ", lead_style="bold yellow")
        if item.value:
            desk.one_line(f"   {item.value}")
        if item.found:
            desk.line(item.found, lead="   found: ")


def _print_sayings(finding: Finding, desk: Desk) -> None:
    if finding.answer:
        answer = finding.answer
        desk.line(f"answered {answer.reply.value} by {answer.by}: {answer.reason}", lead="  ")
    if finding.concession:
        concession = finding.concession
        desk.line(f"conceded by {concession.by}: {concession.reason}", lead="  ")


def _print_counts(report: Report, desk: Desk) -> None:
    desk.heading("Findings")
    for weight, outcomes in story.count_findings(report.findings).items():
        told = [f"{count} {outcome.value}" for outcome, count in outcomes.items() if count]
        desk.line(", ".join(told) or "none", lead=f"  {weight.value}: ")
    if report.unanswered:
        counts = Counter(each.error for each in report.unanswered)
        told = [f"{error} {count}" for error, count in counts.most_common()]
        desk.line(", ".join(told), lead=f"  not answered: {len(report.unanswered)}, ")


def _print_devices(section: Section, desk: Desk) -> None:
    for index, device in enumerate(section.devices):
        desk.line(f"{device.label} ({device.position.value}, {device.place})", lead="  ")
        for line in description.describe_device(section, index):
            _print_line(line.name, line, desk, indent="    ")


def _print_line(title: str, line: description.Line, desk: Desk, indent: str = "  ") -> None:
    text = line.text if line.state == "value" else f"{line.state} - {line.text}"
    desk.line(text, lead=f"{indent}{title}: ", style=STATE_STYLES[line.state])
