"""Reports, inventories and lines on the output stream, as words for people or as JSON alone.

The console library is loaded only where words are wanted.
"""

from __future__ import annotations

import json
from typing import TYPE_CHECKING

from closeout.cli.plain import make_screen
from closeout.kernel.secrecy import mask_text
from closeout.report.as_json import render_inventory_json, render_json
from closeout.report.foreign import fit_encoding, make_safe

if TYPE_CHECKING:
    from collections.abc import Mapping
    from typing import TextIO

    from closeout.cli.surroundings import Surroundings
    from closeout.model.inventory import Inventory
    from closeout.model.report import Report


def say_line(text: str, stream: TextIO) -> None:
    """One line; names of files and texts of foreign files in it are harmless, keys masked."""
    shown = make_safe(mask_text(text))
    stream.write(fit_encoding(shown, stream.encoding or "utf-8") + "\n")


def say_json(answer: Mapping[str, object], surroundings: Surroundings) -> None:
    """One JSON object on one line, in ASCII, keys of licences masked."""
    surroundings.stdout.write(mask_text(json.dumps(answer)) + "\n")


def say_report(report: Report, surroundings: Surroundings, *, as_json: bool, quiet: bool) -> None:
    """The report: `report.json` itself, one line, or the whole story."""
    if as_json:
        _say_bytes(render_json(report), surroundings)
        return
    from closeout.report import console  # noqa: PLC0415 - only for words

    render = console.render_quiet if quiet else console.render_console
    render(report, make_screen(surroundings.stdout))


def say_inventory(inventory: Inventory, surroundings: Surroundings, *, as_json: bool) -> None:
    """The inventory as JSON or as tables."""
    if as_json:
        _say_bytes(render_inventory_json(inventory), surroundings)
        return
    from closeout.report.console import render_inventory  # noqa: PLC0415 - only for words

    render_inventory(inventory, make_screen(surroundings.stdout))


def _say_bytes(raw: bytes, surroundings: Surroundings) -> None:
    """The bytes themselves, whatever characters the terminal takes."""
    surroundings.stdout.flush()
    surroundings.stdout.buffer.write(raw)
