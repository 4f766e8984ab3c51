"""The answer card: one sheet of bar codes to scan instead of typing, for hands in gloves."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from pathlib import Path
from typing import Final

from closeout.report.bar_code import draw_code_128
from closeout.report.html import Html, fill, joined

STYLE: Final = Path(__file__).with_name("answer_card.css")
ANSWERS: Final[Mapping[str, str]] = {
    "YES": "it is so",
    "NO": "it is not so",
    "NEXT": "later: the next question",
    "STOP": "no more questions now",
}
"""What can be said to a question, and what it means."""


def render_card(repairs: Iterable[tuple[str, str]]) -> str:
    """The card as one HTML file; `repairs` are ids and what people call them."""
    answers = joined(_render_code(word, word, meaning) for word, meaning in ANSWERS.items())
    done = joined(_render_code(name.upper(), title, "") for name, title in repairs)
    return fill(
        '<!DOCTYPE html>\n<html lang="en">\n<head>\n<meta charset="utf-8">\n'
        '<meta name="viewport" content="width=device-width, initial-scale=1">\n'
        '<meta http-equiv="Content-Security-Policy" content="default-src \'none\';'
        " style-src 'unsafe-inline'\">\n<title>closeout: answer card</title>\n"
        "<style>\n{}</style>\n</head>\n<body>\n<main>\n<h1>Answer card</h1>\n"
        "<p>Scan instead of typing. The scanner types the word and Enter.</p>\n"
        '<section class="answers" aria-label="Answers">\n{}</section>\n'
        "<h2>Repairs done</h2>\n"
        '<section class="repairs" aria-label="Repairs">\n{}</section>\n'
        "</main>\n</body>\n</html>\n",
        Html(STYLE.read_text(encoding="utf-8")),
        answers,
        done,
    )


def _render_code(text: str, title: str, meaning: str) -> Html:
    return fill(
        '<div class="code">\n<p><b>{}</b> {}</p>\n{}\n<p class="typed">{}</p>\n</div>\n',
        title,
        meaning,
        draw_code_128(text),
        text,
    )
