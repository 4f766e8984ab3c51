"""The hand-back list on a sheet of its own: a value to a line, large, with its bar code."""

from __future__ import annotations

from closeout.model.handling import HandBack, HandBackItem
from closeout.report.bar_code import draw_code_128
from closeout.report.html import NOTHING, Html, fill, joined


def render_hand_back(hand_back: HandBack) -> Html:
    """What is still to do before the customer gets the unit, in the order to do it."""
    withheld = fill('<p class="caution"><b>Withheld:</b> {}</p>\n', hand_back.withheld)
    return fill(
        '<section class="hand-back" aria-labelledby="hand-back">\n'
        '<h2 id="hand-back">Still to do before hand-back</h2>\n{}<ol>\n{}</ol>\n</section>\n',
        withheld if hand_back.withheld else NOTHING,
        joined(map(_render_item, hand_back.items)),
    )


def _render_item(item: HandBackItem) -> Html:
    found = fill('<p class="muted">Found: {}</p>\n', item.found) if item.found else NOTHING
    caution = fill('<p class="caution"><b>Caution:</b> {}</p>\n', item.caution)
    return fill(
        "<li>\n<h3>{}</h3>\n{}{}<p>{}</p>\n{}</li>\n",
        item.title,
        caution if item.caution else NOTHING,
        _render_value(item) if item.value else NOTHING,
        item.action,
        found,
    )


def _render_value(item: HandBackItem) -> Html:
    bars = draw_code_128(item.value) if item.is_scannable else NOTHING
    return fill('<p class="large exact">{}</p>\n{}\n', item.value, bars)
