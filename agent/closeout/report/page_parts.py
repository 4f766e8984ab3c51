"""Parts of the page that stand on it more than once, or in a place of their own."""

from __future__ import annotations

from typing import Final

from closeout.model.finding import Finding, Outcome
from closeout.model.report import Report, Step
from closeout.model.verdict import Verdict
from closeout.report import story
from closeout.report.foreign import make_safe as clip
from closeout.report.html import NOTHING, Html, fill, joined

SHAPES: Final = {
    Verdict.RELEASE: fill(
        '<svg viewBox="0 0 48 48" aria-hidden="true"><circle cx="24" cy="24" r="21" fill="none"'
        ' stroke="currentColor" stroke-width="3"/><path d="M14 25l7 7 14-15" fill="none"'
        ' stroke="currentColor" stroke-width="4.5" stroke-linecap="round"'
        ' stroke-linejoin="round"/></svg>\n'
    ),
    Verdict.HOLD: fill(
        '<svg viewBox="0 0 48 48" aria-hidden="true"><path d="M15.3 3h17.4L45 15.3v17.4L32.7'
        ' 45H15.3L3 32.7V15.3z" fill="none" stroke="currentColor" stroke-width="3"'
        ' stroke-linejoin="round"/><path d="M16.5 16.5l15 15m0-15l-15 15" fill="none"'
        ' stroke="currentColor" stroke-width="4.5" stroke-linecap="round"/></svg>\n'
    ),
    Verdict.UNDECIDED: fill(
        '<svg viewBox="0 0 48 48" aria-hidden="true"><path d="M24 2.5L45.5 24 24 45.5 2.5 24z"'
        ' fill="none" stroke="currentColor" stroke-width="3" stroke-linejoin="round"/>'
        '<path d="M18.5 19.5a5.6 5.6 0 1 1 8.4 4.8c-2 1.200-2.900 2.300-2.900 4.400" fill="none"'
        ' stroke="currentColor" stroke-width="4" stroke-linecap="round"/>'
        '<circle cx="24" cy="34.500" r="2.500" fill="currentColor"/></svg>\n'
    ),
}
"""A verdict has a shape of its own, for who sees no colours."""


def render_step(report: Report, step: Step, title_room: int, room: int) -> Html:
    """One thing to do, in at most so many columns each for its title and its words."""
    action = fill(
        '<li><div class="three"><b>{}.</b> {}</div>\n',
        clip(step.title, title_room),
        clip(step.action, room),
    )
    caution = story.caution_of(report, step)
    warned = (
        fill('<div class="caution two"><b>Caution:</b> {}</div>\n', clip(caution, room))
        if caution
        else NOTHING
    )
    return fill("{}{}</li>\n", action, warned)


def render_saying(report: Report, finding: Finding, longest: int) -> Html:
    """What people said about a finding, in at most so many columns."""
    name = clip(story.name_of(report, finding), 100)
    pieces = [fill("<b>{}</b>, {}.\n", name, finding.outcome.value)]
    if answer := finding.answer:
        pieces.append(
            fill(
                "Answered <b>{}</b> by {}: {}.\n",
                answer.reply.value,
                clip(answer.by, 40),
                clip(answer.reason, longest),
            )
        )
    if concession := finding.concession:
        pieces.append(
            fill(
                "<b>Conceded</b> by {}: {}. Expected {}, found {}.\n",
                clip(concession.by, 40),
                clip(concession.reason, longest),
                clip(finding.expected, longest // 2),
                clip(finding.found, longest // 2),
            )
        )
    return joined(pieces)


def render_finding(report: Report, finding: Finding) -> Html:
    """The row of a finding in the table of its class."""
    return joined(
        (
            fill(
                '<tr><td class="outcome outcome-{}">{} {}</td>',
                finding.outcome.value,
                story.OUTCOME_SYMBOLS[finding.outcome],
                finding.outcome.value,
            ),
            fill(
                '<th scope="row">{}<br><span class="small muted">{}{}, <code>{}</code></span></th>',
                story.name_of(report, finding),
                NOTHING
                if finding.outcome is Outcome.PASS
                else fill("finding {}, ", story.number_of(report, finding)),
                finding.weight.value,
                finding.rule,
            ),
            fill(
                '<td>{}<br><span class="small muted">{}</span></td><td>{}\n',
                finding.expected,
                finding.origin,
                finding.found,
            ),
            NOTHING if finding.outcome is Outcome.PASS else _render_reasons(report, finding),
            fill('<p class="small">{}</p>', render_saying(report, finding, 2000))
            if finding.answer or finding.concession
            else NOTHING,
            fill("</td></tr>\n"),
        )
    )


def _render_reasons(report: Report, finding: Finding) -> Html:
    """What no pass means, what to do, and what it rests on."""
    pieces: list[Html] = []
    if entry := report.words.get(finding.rule):
        pieces.append(fill('<p class="small">{} {}</p>\n', entry.meaning, entry.impact))
        if finding.outcome not in {Outcome.UNREAD, Outcome.UNCOVERED}:
            pieces.append(fill('<p class="small"><b>What to do:</b> {}</p>', entry.advice))
        if entry.question:
            pieces.append(fill('<p class="small"><b>Question:</b> {}</p>', entry.question))
    if finding.connection:
        pieces.append(fill('<p class="small"><b>Connection:</b> {}</p>', finding.connection))
    evidence = ", ".join(finding.evidence) or "none"
    pieces.append(fill('<p class="small muted">Evidence: <code>{}</code></p>\n', evidence))
    return joined(pieces)
