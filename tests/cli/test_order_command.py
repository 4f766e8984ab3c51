"""`closeout order card`: a new file, and never over another."""

from pathlib import Path

from closeout.cli.trouble import ExitCode
from strategies.surroundings import call_in


def test_the_card_is_written_once(tmp_path: Path) -> None:
    told = call_in(tmp_path, "order", "card")
    assert told.code == 0
    card = tmp_path / "answer-card.html"
    written = card.read_text(encoding="utf-8")
    assert "SYSTEM-BOARD" in written
    assert "print it on A4" in told.out
    again = call_in(tmp_path, "order", "card")
    assert again.code == ExitCode.BAD_INPUT
    assert "the card was not written" in again.err
    assert card.read_text(encoding="utf-8") == written


def test_it_goes_where_out_says(tmp_path: Path) -> None:
    assert call_in(tmp_path, "order", "card", "--out", tmp_path / "c.html").code == 0
    assert (tmp_path / "c.html").is_file()
