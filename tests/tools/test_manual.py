"""The manual's reference pages say what the code says, no more and no less."""

import errno
import re
from pathlib import Path

import pytest

import closeout
from closeout.cli.main import COMMANDS
from closeout.cli.trouble import ExitCode
from closeout.kernel.failure import Reason
from closeout.model.attribute import attributes_of
from closeout.model.inventory import KINDS
from generate_manual import FOLDER, PAGES, write_pages
from manual_commands import MEANINGS, render_commands
from manual_page import table
from manual_readings import render_attributes, render_readings

MADE_BY_HAND = {"answers.md", "index.md", "kernel.md", "orders.md"}


@pytest.mark.parametrize("name", PAGES)
def test_a_page_is_what_the_code_says_today(name: str) -> None:
    is_current = (FOLDER / name).read_text("utf-8") == PAGES[name]()
    assert is_current, f"docs/manual/{name} is out of date: run `make manual`"


def test_no_page_is_left_over_and_the_index_names_all() -> None:
    assert {page.name for page in FOLDER.glob("*.md")} >= set(PAGES) | MADE_BY_HAND
    index = (FOLDER / "index.md").read_text("utf-8")
    for page in FOLDER.glob("*.md"):
        assert page.name == "index.md" or f"]({page.name})" in index


def test_every_exit_code_has_a_meaning() -> None:
    assert set(MEANINGS) == set(ExitCode)


def test_every_command_is_described() -> None:
    text = render_commands()
    for name, _module, _summary in COMMANDS:
        assert f"## `closeout {name}`" in text


def test_every_attribute_is_described() -> None:
    text = render_attributes()
    for kind, record in KINDS.items():
        assert f"## `{kind}`\n" in text
        for name in attributes_of(record):
            assert f"| `{name}` |" in text


def test_every_error_of_our_own_is_described() -> None:
    text = render_readings()
    sources = (path.read_text("utf-8") for path in Path(closeout.__file__).parent.rglob("*.py"))
    words = {word for source in sources for word in re.findall(r'error="([A-Z_]+)"', source)}
    reasons = {reason.value for reason in Reason if reason is not Reason.KERNEL}
    assert len(words) >= 2
    for word in words - set(errno.errorcode.values()) | reasons:
        assert f"| `{word}` |" in text


def test_a_bar_in_a_cell_parts_no_columns() -> None:
    assert table(["a"], [["x|y\nz"]]) == "| a |\n| --- |\n| x\\|y z |"


def test_pages_are_written(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert write_pages(tmp_path) == 0
    assert {page.name for page in tmp_path.iterdir()} == set(PAGES)
    assert len(capsys.readouterr().out.splitlines()) == len(PAGES)
