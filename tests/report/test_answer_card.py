"""The answer card: every code on it is read back, and the page calls nothing."""

import pytest

from closeout.expect.repair_map import load_repair_map
from closeout.expect.vocabulary import REPAIRS
from closeout.report.answer_card import ANSWERS, render_card
from oracles.web_page import WebPage
from strategies.drawn_bars import read_bars

CARD = render_card((repair.id, repair.title) for repair in load_repair_map().repairs.values())


@pytest.mark.wheel_oracle
def test_every_code_is_read_back_in_its_order() -> None:
    assert read_bars(CARD) == [*ANSWERS, *(name.upper() for name in REPAIRS)]


def test_each_code_has_its_words_beside_it() -> None:
    page = WebPage.of(CARD)
    for word, meaning in ANSWERS.items():
        assert f"{word} {meaning}" in " ".join(" ".join(page.text).split())
    assert "Keyboard or top cover" in page.text


def test_it_calls_nothing_and_runs_nothing() -> None:
    assert "http" not in CARD.replace("http-equiv", "")
    assert "<script" not in CARD
