"""What the pages for people tell to type can be typed."""

import re
import shlex
from pathlib import Path
from typing import Final

import pytest

from closeout.cli.main import make_parser

TOP: Final = Path(__file__).resolve().parents[2]
PAGES: Final = ("README.md", "DEVELOPERS.md", "docs/manual/index.md")
BLOCK: Final = re.compile(r"^```\n(.*?)^```$", re.MULTILINE | re.DOTALL)
LINK: Final = re.compile(r"\]\(([^):]+)\)")
TARGET: Final = re.compile(r"`make ([a-z-]+)`")


def blocks_of(page: str) -> list[list[str]]:
    """The lines of each block of commands on a page."""
    return [text.splitlines() for text in BLOCK.findall((TOP / page).read_text("utf-8"))]


def examples() -> list[str]:
    """Every command line of ours on the pages."""
    lines = [line for page in PAGES for block in blocks_of(page) for line in block]
    return [line for line in lines if line.startswith("closeout ")]


def test_the_readme_begins_with_two_commands() -> None:
    assert blocks_of("README.md")[0] == ["make demo", "make test"]


def test_there_are_examples() -> None:
    assert len(examples()) >= 4


@pytest.mark.parametrize("line", examples())
def test_an_example_is_understood(line: str) -> None:
    options = make_parser().parse_args(shlex.split(line, comments=True)[1:])
    assert options.command == line.split()[1]


@pytest.mark.parametrize("page", PAGES)
def test_links_lead_somewhere(page: str) -> None:
    for link in LINK.findall((TOP / page).read_text("utf-8")):
        path, _, heading = link.partition("#")
        aim = (TOP / page).parent / path
        assert aim.exists(), link
        if heading:
            assert f"## {heading}" in aim.read_text("utf-8").lower(), link


@pytest.mark.parametrize("page", PAGES)
def test_make_knows_every_target(page: str) -> None:
    makefile = (TOP / "Makefile").read_text("utf-8")
    for target in TARGET.findall((TOP / page).read_text("utf-8")):
        assert re.search(rf"^{target}:", makefile, re.MULTILINE), target
