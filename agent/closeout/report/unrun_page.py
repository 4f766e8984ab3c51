"""The record of a unit that was not judged, as one sheet of A4."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final

from closeout.model.unrun import Unrun, WhyUnrun
from closeout.report.foreign import make_safe as clip
from closeout.report.html import NOTHING, Html, fill, joined
from closeout.report.page import STYLE

HEADINGS: Final[Mapping[WhyUnrun, str]] = {
    WhyUnrun.NO_BOOT: "Not run: the unit does not start",
    WhyUnrun.LOCKED: "Not run: the unit is locked",
    WhyUnrun.NOT_CHECKED: "Not run: nobody checked the unit",
}
MEANINGS: Final[Mapping[WhyUnrun, str]] = {
    WhyUnrun.NO_BOOT: "It does not come so far that anything could be read.",
    WhyUnrun.LOCKED: "A password or a lock stands before anything could be read.",
    WhyUnrun.NOT_CHECKED: "It could have been read, and was not.",
}
NO_VERDICT: Final = (
    "Nothing was read and nothing was judged: this sheet is no verdict, and no release."
)


def render_unrun_page(unrun: Unrun) -> str:
    """The sheet as HTML; the same record gives the same text."""
    return fill(
        '<!DOCTYPE html>\n<html lang="en">\n<head>\n<meta charset="utf-8">\n'
        '<meta name="viewport" content="width=device-width, initial-scale=1">\n'
        '<meta http-equiv="Content-Security-Policy" content="default-src \'none\';'
        " style-src 'unsafe-inline'\">\n"
        "<title>{} - not run - closeout</title>\n<style>\n{}</style>\n</head>\n<body>\n"
        '<header>\n<p class="one">closeout: record of a unit that was not run</p>\n'
        '<p class="one">Order <b>{}</b></p>\n</header>\n<main>\n'
        '<section aria-labelledby="why">\n<h1 id="why">{}</h1>\n<p>{} {}</p>\n{}'
        "<h2>This record</h2>\n<dl>\n{}</dl>\n</section>\n</main>\n</body>\n</html>\n",
        unrun.order,
        Html(STYLE.read_text(encoding="utf-8")),
        clip(unrun.order, 60),
        HEADINGS[unrun.why],
        MEANINGS[unrun.why],
        NO_VERDICT,
        fill("<h2>Note</h2>\n<p>{}</p>\n", clip(unrun.note, 300)) if unrun.note else NOTHING,
        joined(
            fill("<dt>{}</dt><dd>{}</dd>\n", title, clip(text, 120))
            for title, text in _lines(unrun)
            if text
        ),
    )


def _lines(unrun: Unrun) -> tuple[tuple[str, str], ...]:
    return (
        ("Said by", unrun.by),
        ("Station", unrun.station),
        ("Time", f"{unrun.at.text} ({unrun.at.source})"),
        ("Number", f"{unrun.number} of this order"),
        ("Made by", unrun.agent),
    )
