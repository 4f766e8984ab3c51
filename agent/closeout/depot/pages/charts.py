"""Charts as SVG inside a page: no script, nothing told by colour alone, each with title and text.

The figures stand in a table beside each chart; a chart shows the shape of them.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from closeout.depot.pages.telling import tell_percent
from closeout.depot.statistics.wilson import Share
from closeout.model.frozen import frozen
from closeout.report.html import Html, fill, joined

WIDTH: Final = 720
LABELS: Final = 200
"""Units of the drawing that names take at the left."""
FIGURES: Final = 64
ROW: Final = 22
PLOT_TOP: Final = 12
PLOT_HEIGHT: Final = 190
AXIS_LEFT: Final = 46
LONGEST_LABEL: Final = 30
MOST_TICKS: Final = 14
QUARTERS: Final = (0.0, 0.25, 0.5, 0.75, 1.0)


@frozen
class Bar:
    """A name, how long its bar is, and the figure that stands at its end."""

    name: str
    length: float
    figure: str


@frozen
class Point:
    """A name with two shares: a filled circle and an open square, each with its interval."""

    name: str
    round: Share
    square: Share


def draw_bars(title: str, about: str, bars: Sequence[Bar]) -> Html:
    """One bar under the other, as long as they are."""
    longest = max((bar.length for bar in bars), default=0) or 1
    room = WIDTH - LABELS - FIGURES
    rows = [
        fill(
            '<text class="name" x="{}" y="{}">{}</text>'
            '<rect class="bar" x="{}" y="{}" width="{}" height="14"/>'
            '<text class="figure" x="{}" y="{}">{}</text>',
            *(LABELS - 8, at * ROW + 15, _short(bar.name)),
            *(LABELS, at * ROW + 4, f"{room * bar.length / longest:.1f}"),
            *(f"{LABELS + room * bar.length / longest + 6:.1f}", at * ROW + 15, bar.figure),
        )
        for at, bar in enumerate(bars)
    ]
    return _drawing(title, about, len(bars) * ROW + 6, joined(rows))


def draw_shares(title: str, about: str, points: Sequence[Point]) -> Html:
    """A row a name: circle and square between nothing and all, with their intervals."""
    room = WIDTH - LABELS - 20
    height = len(points) * ROW
    marks: list[Html] = [_upright(LABELS + room * part, height, part) for part in QUARTERS]
    for at, point in enumerate(points):
        middle = at * ROW + 10
        marks.append(
            fill(
                '<text class="name" x="{}" y="{}">{}</text>',
                LABELS - 8,
                middle + 5,
                _short(point.name),
            )
        )
        marks.append(_whisker_across(point.square, room, middle + 4))
        marks.append(_whisker_across(point.round, room, middle - 3))
        marks.append(_square(LABELS + room * (point.square.value or 0), middle + 4))
        marks.append(_circle(LABELS + room * (point.round.value or 0), middle - 3))
    return _drawing(title, about, height + 24, joined(marks))


def draw_weeks(title: str, about: str, points: Sequence[Point]) -> Html:
    """The same from left to right, as time goes; under a week its year where another begins."""
    room = WIDTH - AXIS_LEFT - 12
    step = room / max(1, len(points))
    every = max(1, -(-len(points) // MOST_TICKS))
    marks: list[Html] = [_level(part) for part in QUARTERS]
    told = ""
    for at, point in enumerate(points):
        middle = AXIS_LEFT + step * (at + 0.5)
        marks.append(_whisker_up(point.square, middle + 2))
        marks.append(_whisker_up(point.round, middle - 2))
        marks.append(_square(middle + 2, _height(point.square.value or 0)))
        marks.append(_circle(middle - 2, _height(point.round.value or 0)))
        if at % every == 0:
            year, _, week = point.name.rpartition("-")
            marks.append(_under(middle, 18, week))
            if year != told:
                marks.append(_under(middle, 34, year))
            told = year
    return _drawing(title, about, PLOT_TOP + PLOT_HEIGHT + 42, joined(marks))


def _drawing(title: str, about: str, height: int, content: Html) -> Html:
    """The drawing with what it is in words: programs that read aloud find both."""
    return fill(
        '<svg class="chart" role="img" viewBox="0 0 {} {}" width="{}" height="{}"'
        ' aria-label="{}"><title>{}</title><desc>{}</desc>{}</svg>',
        *(WIDTH, height, WIDTH, height),
        *(f"{title}. {about}", title, about, content),
    )


def _under(across: float, down: int, text: str) -> Html:
    """A word below the drawing."""
    return fill(
        '<text class="tick" x="{}" y="{}">{}</text>',
        *(f"{across:.1f}", PLOT_TOP + PLOT_HEIGHT + down, text),
    )


def _short(name: str) -> str:
    """The name, or its beginning; the table beside the chart has all of it."""
    return name if len(name) <= LONGEST_LABEL else f"{name[: LONGEST_LABEL - 1]}…"


def _circle(across: float, down: float) -> Html:
    return fill('<circle class="dot" cx="{}" cy="{}" r="4"/>', f"{across:.1f}", f"{down:.1f}")


def _square(across: float, down: float) -> Html:
    return fill(
        '<rect class="square" x="{}" y="{}" width="7" height="7"/>',
        *(f"{across - 3.5:.1f}", f"{down - 3.5:.1f}"),
    )


def _whisker_across(share: Share, room: float, down: float) -> Html:
    return fill(
        '<line class="whisker" x1="{}" x2="{}" y1="{}" y2="{}"/>',
        *(f"{LABELS + room * share.low:.1f}", f"{LABELS + room * share.high:.1f}", down, down),
    )


def _whisker_up(share: Share, across: float) -> Html:
    return fill(
        '<line class="whisker" x1="{}" x2="{}" y1="{}" y2="{}"/>',
        *(f"{across:.1f}", f"{across:.1f}"),
        *(f"{_height(share.low):.1f}", f"{_height(share.high):.1f}"),
    )


def _height(part: float) -> float:
    return PLOT_TOP + PLOT_HEIGHT * (1 - part)


def _level(part: float) -> Html:
    """A line across with its per cent."""
    down = f"{_height(part):.1f}"
    return fill(
        '<line class="grid" x1="{}" x2="{}" y1="{}" y2="{}"/>'
        '<text class="name" x="{}" y="{}">{}</text>',
        *(AXIS_LEFT, WIDTH - 12, down, down),
        *(AXIS_LEFT - 6, f"{_height(part) + 4:.1f}", tell_percent(part).replace(".0", "")),
    )


def _upright(across: float, height: int, part: float) -> Html:
    return fill(
        '<line class="grid" x1="{}" x2="{}" y1="0" y2="{}"/>'
        '<text class="tick" x="{}" y="{}">{}</text>',
        *(f"{across:.1f}", f"{across:.1f}", height, f"{across:.1f}", height + 16),
        tell_percent(part).replace(".0", ""),
    )
