"""The annex of the report: every class with its findings and readings, and page one in full."""

from __future__ import annotations

from collections.abc import Sequence
from functools import cache, lru_cache

from closeout.model.finding import Finding
from closeout.model.report import Report
from closeout.report import description
from closeout.report.html import NOTHING, Html, escape, fill, joined
from closeout.report.page_circumstances import render_circumstances
from closeout.report.page_parts import (
    render_finding,
    render_saying,
    render_step,
)
from closeout.report.page_views import ClassView, DeviceView

WHOLE = 2000
"""Columns of a text in the annex: all of it."""

LOOKS = {"value": fill(' class="exact"'), "absent": fill(' class="reason"')}
"""Of a reading's text, by its state."""
ROW_END = fill("</td></tr>\n")


def render_contents(classes: Sequence[ClassView], *, has_empty: bool) -> Html:
    """What the annex holds, each with a link to it."""
    entries = joined(
        fill('<li><a href="#class-{}">{}</a>{}</li>\n', number, part.title, _count(part.findings))
        for number, part in enumerate(classes, start=1)
    )
    empty = fill('<li><a href="#empty">Listed, and none there</a></li>\n')
    return fill(
        '<nav class="contents" aria-labelledby="contents">\n<h2 id="contents">Annex</h2>\n<ul>\n'
        '{}{}<li><a href="#reasons">Page one in full</a></li>\n'
        '<li><a href="#gaps">What could not be read</a></li>\n'
        '<li><a href="#evidence">Evidence</a></li>\n'
        '<li><a href="#cautions">Cautions</a></li>\n</ul>\n</nav>\n',
        entries,
        empty if has_empty else NOTHING,
    )


def _count(findings: Sequence[Finding]) -> Html:
    if not findings:
        return NOTHING
    word = "finding" if len(findings) == 1 else "findings"
    return fill(' <span class="muted">{} {}</span>', len(findings), word)


def render_class(report: Report, number: int, part: ClassView) -> Html:
    """One kind of device: the findings about it, and every reading of each."""
    return fill(
        '<section aria-labelledby="class-{}">\n<h2 id="class-{}">{}</h2>\n{}{}{}</section>\n',
        number,
        number,
        part.title,
        fill("<p>{}</p>", part.remark) if part.remark else NOTHING,
        _render_findings(report, part) if part.findings else NOTHING,
        joined(map(_render_device, part.devices)),
    )


def _render_findings(report: Report, part: ClassView) -> Html:
    return fill(
        '<table class="findings">\n<caption class="unseen">Findings: {}</caption>\n'
        '<colgroup><col class="outcome"><col class="demand"><col class="expected"><col>'
        '</colgroup>\n<thead><tr><th scope="col">Outcome</th><th scope="col">Demand</th>'
        '<th scope="col">Expected</th><th scope="col">Found</th></tr></thead>\n'
        "<tbody>\n{}\n</tbody>\n</table>\n",
        part.title,
        joined(render_finding(report, finding) for finding in part.findings),
    )


def _render_device(device: DeviceView) -> Html:
    return fill(
        '<div class="device">\n<h3>{} <span class="place">{}, <code>{}</code></span></h3>\n'
        '<table class="readings">\n<caption class="unseen">Readings of {}</caption>\n'
        '<colgroup><col class="name"><col class="state"><col></colgroup>\n'
        '<thead><tr><th scope="col">Attribute</th><th scope="col">State</th>'
        '<th scope="col">Value or reason</th></tr></thead>\n<tbody>\n{}</tbody>\n</table>\n'
        "</div>\n",
        device.label,
        device.position,
        device.place,
        device.label,
        joined(map(_render_reading, device.lines)),
    )


def _render_reading(line: description.Line) -> Html:
    return joined(
        (
            _begin_row(line.meaning, line.name),
            _begin_text(line.state),
            escape(line.text),
            ROW_END,
        )
    )


@lru_cache(maxsize=2048)
def _begin_row(meaning: str, name: str) -> Html:
    """Which attribute it is: the same on every page."""
    return fill('<tr><th scope="row">{} <code class="muted">{}</code></th>', meaning, name)


@cache
def _begin_text(state: str) -> Html:
    """The state, and how the text after it looks."""
    looks = LOOKS.get(state, NOTHING)
    return fill('<td class="state state-{}">{}</td><td{}>', state, state, looks)


def render_empty(titles: Sequence[str]) -> Html:
    """The kinds that were listed, of which there is none."""
    return fill(
        '<section aria-labelledby="empty">\n<h2 id="empty">Listed, and none there</h2>\n'
        "<p>{}</p>\n</section>\n",
        ", ".join(titles),
    )


def render_in_full(report: Report, sayings: Sequence[Finding]) -> Html:
    """What page one has no room for."""
    reasons = joined(fill("<li>{}</li>\n", reason) for reason in report.reasons)
    steps = joined(
        fill("{}\n", render_step(report, step, WHOLE, WHOLE)) for step in report.first_steps
    )
    said = joined(
        fill("<li>{}</li>\n", render_saying(report, finding, WHOLE)) for finding in sayings
    )
    none = fill("<li>none</li>\n")
    return fill(
        '<section aria-labelledby="reasons">\n<h2 id="reasons">Page one in full</h2>\n'
        "<h3>Reasons</h3>\n<ul>\n{}</ul>\n<h3>What to do first</h3>\n<ol>\n{}</ol>\n"
        "<h3>Answers and concessions</h3>\n<ul>\n{}</ul>\n{}{}{}<h3>This check</h3>\n{}\n"
        "</section>\n",
        reasons or none,
        steps or fill("<li>nothing</li>\n"),
        said or none,
        _render_void(report),
        _render_revisions(report),
        _render_earlier(report),
        render_circumstances(report, WHOLE),
    )


def _render_void(report: Report) -> Html:
    """What was said of the attempt before and holds no more."""
    rows = joined(
        fill(
            "<li><code>{}</code> {}: {}; void: {}</li>\n",
            each.rule,
            each.subject,
            each.said,
            each.why,
        )
        for each in report.void
    )
    return _render_list("Said before, and void now", rows)


def _render_revisions(report: Report) -> Html:
    rows = joined(
        fill(
            '<li>{}: {} By {}, {} ({}); before it <span class="exact muted">{}</span></li>\n',
            each.number,
            each.change,
            each.by,
            each.at.text,
            each.at.source,
            each.digest,
        )
        for each in report.revisions
    )
    return _render_list("Revisions", rows)


def _render_earlier(report: Report) -> Html:
    rows = joined(
        fill(
            '<li>{}, revision {}: {}, {} ({}). {}<span class="exact muted">{}</span></li>\n',
            each.attempt,
            each.revision,
            each.verdict,
            each.started.text,
            each.started.source,
            joined(fill("{}. ", reason) for reason in each.reasons),
            each.digest,
        )
        for each in report.earlier
    )
    return _render_list("Attempts before", rows)


def _render_list(title: str, rows: Html) -> Html:
    """Nothing where there is nothing to list."""
    return fill("<h3>{}</h3>\n<ul>\n{}</ul>\n", title, rows) if rows else NOTHING
