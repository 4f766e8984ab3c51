"""`closeout report label`: what its file is named for is what is written."""

from pathlib import Path

import pytest

from strategies.surroundings import call_in
from strategies.written_attempt import everything, write_demo

pytestmark = pytest.mark.wheel_oracle


@pytest.fixture(scope="module")
def kept(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """An attempt that nothing is changed of."""
    return write_demo(tmp_path_factory.mktemp("kept"))


def test_a_label_of_another_kind_of_file_is_refused(kept: Path, tmp_path: Path) -> None:
    told = call_in(tmp_path, "report", "label", kept, "--out", "one.gif")
    assert (told.code, told.out) == (2, "")
    assert "one.gif: is named .gif: end it with .pdf or .png, or give --format" in told.err
    assert everything(tmp_path) == {}


@pytest.mark.parametrize(
    ("arguments", "written", "begins"),
    [
        (("--out", "one.png"), "one.png", b"\x89PNG"),
        (("--out", "one.PDF"), "one.PDF", b"%PDF"),
        (("--out", "one"), "one", b"%PDF"),
        (("--out", "one.label", "--format", "png"), "one.label", b"\x89PNG"),
    ],
)
def test_a_label_is_what_its_file_is_named_for(
    kept: Path, tmp_path: Path, arguments: tuple[str, ...], written: str, begins: bytes
) -> None:
    assert call_in(tmp_path, "report", "label", kept, *arguments).code == 0
    assert (tmp_path / written).read_bytes().startswith(begins)


def test_a_label_is_not_named_for_what_it_is_not(kept: Path, tmp_path: Path) -> None:
    told = call_in(tmp_path, "report", "label", kept, "--format", "pdf", "--out", "one.png")
    assert (told.code, told.out) == (2, "")
    assert told.err == (
        "closeout: --out: one.png: is named .png, and --format asks for pdf: leave out one\n"
    )
    assert not (tmp_path / "one.png").exists()
