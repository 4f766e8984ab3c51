"""The end of the annex: what could not be read, the evidence, and what can hurt."""

from __future__ import annotations

from closeout.model.report import Report
from closeout.report import description, story
from closeout.report.html import NOTHING, Html, fill, joined


def render_gaps(report: Report) -> Html:
    """Every question that got no answer."""
    gaps = description.find_gaps(report.inventory)
    table = fill(
        "<table>\n<caption>Every question that got no answer; none of them counts as a pass"
        '</caption>\n<thead><tr><th scope="col">Where</th><th scope="col">What</th>'
        '<th scope="col">Error</th><th scope="col">What to do</th><th scope="col">Question</th>'
        "</tr></thead>\n<tbody>\n{}</tbody>\n</table>\n",
        joined(map(_render_gap, gaps)),
    )
    pieces = (table if gaps else NOTHING, _render_unanswered(report))
    return fill(
        '<section aria-labelledby="gaps">\n<h2 id="gaps">What could not be read</h2>\n{}'
        "</section>\n",
        joined(pieces)
        if gaps or report.unanswered
        else fill("<p>Everything that was asked was answered.</p>\n"),
    )


def _render_unanswered(report: Report) -> Html:
    if not report.unanswered:
        return NOTHING
    return fill(
        "<p>Questions without an answer, those that another file answered in their place among "
        "them:</p>\n<ul>\n{}</ul>\n",
        joined(
            fill("<li>{}: <code>{}</code></li>\n", each.error, each.question)
            for each in report.unanswered
        ),
    )


def _render_gap(gap: description.Gap) -> Html:
    return fill(
        '<tr><th scope="row">{}{}</th><td>{}</td><td>{}</td><td>{}</td>'
        "<td><code>{}</code></td></tr>\n",
        story.kind_title(gap.kind),
        fill(" {}", gap.label) if gap.label else NOTHING,
        gap.name or "the whole kind",
        gap.reading.error,
        gap.reading.advice,
        ", ".join(gap.reading.sources),
    )


def render_evidence(report: Report) -> Html:
    """What the report rests on, and how long each reader took."""
    rows = joined(
        fill('<tr><th scope="row">{}</th><td>{}</td></tr>\n', reader, show_duration(taken))
        for reader, taken in report.reader_microseconds.items()
    )
    times = fill(
        "<table>\n<caption>Time taken by each reader</caption>\n"
        '<thead><tr><th scope="col">Reader</th><th scope="col">Time</th></tr></thead>\n'
        "<tbody>\n{}</tbody>\n</table>\n",
        rows,
    )
    return fill(
        '<section aria-labelledby="evidence">\n<h2 id="evidence">Evidence</h2>\n'
        "<p>{} readings, digest <code>{}</code> over the decompressed evidence. The same evidence,"
        " profile, order and rules give the same findings anywhere.</p>\n{}</section>\n",
        report.circumstances.readings,
        report.circumstances.evidence_digest,
        times if rows else NOTHING,
    )


def show_duration(microseconds: int) -> str:
    """Milliseconds with one place, cut."""
    return f"{microseconds // 1000}.{microseconds % 1000 // 100} ms"


def render_cautions(report: Report) -> Html:
    """What can hurt whoever works on what was found."""
    told = joined(
        fill('<p class="caution"><b>{}.</b> {}</p>\n', title, caution)
        for title, caution in story.cautions(report)
    )
    return fill(
        '<section aria-labelledby="cautions">\n<h2 id="cautions">Cautions</h2>\n{}'
        '<p class="caution"><b>Always.</b> General words only: the maker\'s instructions, local'
        " rules and licensed practice come first. Take the unit off its supply before it is"
        " opened.</p>\n</section>\n",
        told,
    )
