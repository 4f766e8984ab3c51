"""A report as one HTML file: page one tells the story, the rest is annex. No script, no link out.

Every text on it goes through `make_safe` and is escaped: `closeout.report.html` sees to it.
"""

from __future__ import annotations

from pathlib import Path
from typing import Final

from closeout.model.report import Circumstances, Report
from closeout.report import story
from closeout.report.foreign import make_safe as clip
from closeout.report.html import NOTHING, Html, fill, joined
from closeout.report.page_annex import (
    render_class,
    render_contents,
    render_empty,
    render_in_full,
)
from closeout.report.page_one import render_page_one
from closeout.report.page_proof import render_cautions, render_evidence, render_gaps
from closeout.report.page_views import view_classes

STYLE: Final = Path(__file__).with_name("report.css")


def render_page(report: Report) -> str:
    """The report as HTML; the same report gives the same text."""
    classes = view_classes(report.inventory, report.findings)
    shown = tuple(part for part in classes if not part.is_empty)
    empty = tuple(part.title for part in classes if part.is_empty)
    sayings = tuple(part for part in report.findings if part.answer or part.concession)
    return fill(
        "{}<body>\n{}<main>\n{}\n{}{}\n{}\n{}\n{}\n{}\n{}\n{}</main>\n<footer>\n"
        "<p>A report says what was read and judged at the time it names. It does not say who did"
        " the work.</p>\n</footer>\n</body>\n</html>\n",
        _render_head(report),
        _render_header(report),
        render_page_one(report, sayings),
        _render_hand_back(report),
        render_contents(shown, has_empty=bool(empty)),
        joined(render_class(report, number, part) for number, part in enumerate(shown, start=1)),
        render_empty(empty) if empty else NOTHING,
        render_in_full(report, sayings),
        render_gaps(report),
        render_evidence(report),
        render_cautions(report),
    )


def _render_head(report: Report) -> Html:
    return fill(
        '<!DOCTYPE html>\n<html lang="en">\n<head>\n<meta charset="utf-8">\n'
        '<meta name="viewport" content="width=device-width, initial-scale=1">\n'
        '<meta http-equiv="Content-Security-Policy" content="default-src \'none\';'
        " style-src 'unsafe-inline'\">\n"
        "<title>{} - {}, attempt {} - closeout report</title>\n<style>\n{}</style>\n</head>\n",
        story.headline(report),
        report.circumstances.order or "no order",
        report.circumstances.attempt,
        Html(STYLE.read_text(encoding="utf-8")),
    )


def _render_header(report: Report) -> Html:
    masked = fill("; <b>redacted</b>: serials, addresses and tokens are masked")
    order = report.circumstances.order
    return fill(
        '<header>\n<p class="one">closeout: report of a repaired unit{}</p>\n'
        '<p class="one">{}, {}{}</p>\n</header>\n',
        masked if report.redacted else NOTHING,
        fill("Order <b>{}</b>", clip(order, 60)) if order else "No order",
        _name_attempt(report.circumstances),
        fill(", revision <b>{}</b>", report.revision) if report.revision > 1 else NOTHING,
    )


def _render_hand_back(report: Report) -> Html:
    if report.hand_back is None:
        return NOTHING
    from closeout.report.page_hand_back import render_hand_back  # noqa: PLC0415 - after few repairs

    return render_hand_back(report.hand_back)


def _name_attempt(facts: Circumstances) -> Html:
    if facts.is_draft:
        return fill("<b>draft, counts as no attempt</b>")
    return fill("attempt <b>{}</b>", facts.attempt)
