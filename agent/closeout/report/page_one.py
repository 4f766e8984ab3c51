"""Page one of the report: verdict, why, what to do first, the unit, and the circumstances."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from closeout.model.expectation import Weight
from closeout.model.finding import Finding, Outcome
from closeout.model.report import Report
from closeout.report import description, story
from closeout.report.foreign import make_safe as clip
from closeout.report.html import NOTHING, Html, fill, joined
from closeout.report.page_circumstances import render_circumstances
from closeout.report.page_parts import SHAPES, render_saying, render_step

MOST_REASONS: Final = 6
MOST_STEPS: Final = 3
MOST_SAYINGS: Final = 3
MOST_GROUPS: Final = 2
"""What page one has room for: where people said something, as many reasons less. The annex has
all of them."""


def render_page_one(report: Report, sayings: Sequence[Finding]) -> Html:
    """The sheet that tells the story."""
    return fill(
        '<section class="sheet" aria-labelledby="verdict">\n{}\n{}\n{}\n{}{}\n'
        "<h2>This check</h2>\n{}\n</section>\n",
        _render_verdict(report),
        _render_reasons(report, MOST_REASONS - MOST_SAYINGS if sayings else MOST_REASONS),
        _render_steps(report),
        _render_sayings(report, sayings),
        _render_unit(report),
        render_circumstances(report, 90),
    )


def _render_verdict(report: Report) -> Html:
    return fill(
        '<div class="verdict is-{}">\n{}\n<div>\n<h1 id="verdict">{}</h1>\n<p>{}</p>\n'
        "</div>\n</div>\n",
        report.verdict.value,
        SHAPES[report.verdict],
        story.headline(report),
        story.meaning_of(report.verdict),
    )


def _render_reasons(report: Report, most: int) -> Html:
    shown = [
        fill('<li><div class="two">{}</div></li>\n', clip(reason, 240))
        for reason in report.reasons[:most]
    ]
    more = fill(
        '<p class="muted">and {} more: <a href="#reasons">reasons in full</a>'
        " stand in the annex.</p>\n",
        len(report.reasons) - most,
    )
    return fill(
        "<h2>Why</h2>\n<ul>\n{}</ul>\n{}",
        joined(shown) if shown else fill("<li>No reason is given.</li>\n"),
        more if len(report.reasons) > most else NOTHING,
    )


def _render_steps(report: Report) -> Html:
    steps = [
        fill("{}\n", render_step(report, step, 140, 330))
        for step in report.first_steps[:MOST_STEPS]
    ]
    listed = fill('<ol class="steps">\n{}</ol>\n', joined(steps))
    nothing = fill("<p>Nothing is to be done.</p>\n")
    return fill("<h2>Do first</h2>\n{}", listed if steps else nothing)


def _render_sayings(report: Report, sayings: Sequence[Finding]) -> Html:
    """Yes by one person for one reason stands together; a no and a concession each alone."""
    if not sayings:
        return NOTHING
    groups, single = story.group_answers(report, sayings)
    shown = [
        *(
            fill('<li><div class="two">{}</div></li>\n', render_saying(report, finding, 170))
            for finding in single[:MOST_SAYINGS]
        ),
        *(
            fill(
                '<li><div class="four">Answered <b>yes</b> by {}: {}. {}: {}</div></li>\n',
                clip(group.by, 40),
                clip(group.reason, 100),
                len(group.names),
                clip(", ".join(group.names), 520),
            )
            for group in groups[:MOST_GROUPS]
        ),
    ]
    left = len(single) - MOST_SAYINGS
    more = fill(
        '<p class="muted">and {} more: <a href="#reasons">all in full</a>'
        " stand in the annex.</p>\n",
        left,
    )
    return fill(
        "<h2>Answers and concessions</h2>\n<ul>\n{}</ul>\n{}",
        joined(shown),
        more if left > 0 else NOTHING,
    )


def _render_unit(report: Report) -> Html:
    unit = [_render_line(*line) for line in description.describe_unit(report.inventory)]
    return fill(
        '\n<div class="pair">\n<div>\n<h2>Unit</h2>\n<dl>\n{}</dl>\n</div>\n'
        "<div>\n<h2>Findings in numbers</h2>\n{}\n</div>\n</div>\n",
        joined(unit) if unit else fill("<dt>Identity</dt><dd>nothing was read</dd>\n"),
        _render_counts(report),
    )


def _render_line(title: str, line: description.Line) -> Html:
    text = clip(line.text, 80)
    if line.state == "value":
        shown = fill('<span class="exact">{}</span>', text)
    else:
        shown = fill('<span class="state-{}">{}</span> {}', line.state, line.state, text)
    return fill('<dt>{}</dt><dd class="two">{}</dd>\n', title, shown)


def _render_counts(report: Report) -> Html:
    counts = story.count_findings(report.findings)
    heads = joined(fill('<th scope="col">{}</th>', outcome.value) for outcome in Outcome)
    rows = joined(
        fill(
            '<tr><th scope="row">{}</th>{}</tr>\n',
            weight.value,
            joined(fill("<td>{}</td>", counts[weight][outcome]) for outcome in Outcome),
        )
        for weight in Weight
    )
    return fill(
        '<table class="counts">\n<thead><tr><th scope="col">Weight</th>{}</tr></thead>\n'
        "<tbody>\n{}</tbody>\n</table>\n",
        heads,
        rows,
    )
