"""The manual's reference pages, made from the code and the catalogue; `make manual` writes them.

A test compares the pages with what this makes, so the manual can say nothing that the code does
not know, and leave nothing out.
"""

import sys
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Final

from manual_commands import render_commands, render_exit_codes
from manual_findings import render_findings
from manual_readings import render_attributes, render_readings

FOLDER: Final = Path(__file__).resolve().parents[1] / "docs" / "manual"
PAGES: Final[Mapping[str, Callable[[], str]]] = {
    "attributes.md": render_attributes,
    "commands.md": render_commands,
    "exit-codes.md": render_exit_codes,
    "findings.md": render_findings,
    "readings.md": render_readings,
}


def write_pages(folder: Path) -> int:
    """Writes every page; 0 when done."""
    for name, render in PAGES.items():
        (folder / name).write_text(render(), "utf-8")
        print(folder / name)
    return 0


if __name__ == "__main__":
    sys.exit(write_pages(FOLDER))
