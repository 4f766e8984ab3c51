"""Every page that people print or read, judged by axe-core in a browser, light and dark."""

import re
from collections.abc import Callable
from pathlib import Path
from typing import Final

import pytest

from closeout.depot.pages.summary_page import render_summary_page
from closeout.expect.repair_map import load_repair_map
from closeout.media.boot_card import render_boot_card
from closeout.report.answer_card import render_card
from closeout.report.page import render_page
from closeout.report.unrun_page import render_unrun_page
from oracles import axe
from strategies.depot_summary import summary_of
from strategies.documents import sample_unrun
from strategies.sample_report import sample_report

pytestmark = [
    pytest.mark.oracle,
    pytest.mark.wheel_oracle,
    pytest.mark.slow,
    pytest.mark.skipif(bool(axe.reason_to_skip()), reason=axe.reason_to_skip()),
]
PAGES: Final[dict[str, Callable[[], str]]] = {
    "report": lambda: render_page(sample_report()),
    "unrun": lambda: render_unrun_page(sample_unrun()),
    "answer card": lambda: render_card(
        (repair.id, repair.title) for repair in load_repair_map().repairs.values()
    ),
    "boot card": render_boot_card,
    "depot": lambda: render_summary_page(summary_of("Fen 14")),
}
DARK: Final = "--blink-settings=preferredColorScheme=0"


@pytest.mark.parametrize("page", PAGES.values(), ids=PAGES)
def test_nothing_keeps_people_from_reading_it(page: Callable[[], str], tmp_path: Path) -> None:
    assert axe.find_violations(page(), tmp_path) == []


def test_the_report_is_read_in_the_dark_too(tmp_path: Path) -> None:
    assert axe.find_violations(render_page(sample_report()), tmp_path, DARK) == []


def test_what_is_planted_is_found(tmp_path: Path) -> None:
    """Colours that only the dark has, and a table without headers: both are seen."""
    page = render_unrun_page(sample_unrun())
    planted = page.replace(
        "</style>", "@media (prefers-color-scheme: dark) { dd { color: #222 } }</style>"
    ).replace("<h1", '<img src="data:,"><h1')
    rules = {re.match(r"[a-z-]+", each) for each in axe.find_violations(planted, tmp_path, DARK)}
    assert {found[0] for found in rules if found} >= {"color-contrast", "image-alt"}
