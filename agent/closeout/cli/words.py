"""Reports and inventories on the output stream, as words for people or as JSON and nothing else.

The console library is loaded only where words are wanted.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from closeout.report.as_json import render_inventory_json, render_json

if TYPE_CHECKING:
    from rich.console import Console

    from closeout.cli.surroundings import Surroundings
    from closeout.model.inventory import Inventory
    from closeout.model.report import Report


def say_report(report: Report, surroundings: Surroundings, *, as_json: bool, quiet: bool) -> None:
    """The report: `report.json` itself, one line, or the whole story."""
    if as_json:
        surroundings.stdout.write(render_json(report).decode())
        return
    from closeout.report import console  # noqa: PLC0415 - only for words

    render = console.render_quiet if quiet else console.render_console
    render(report, make_console(surroundings))


def say_inventory(inventory: Inventory, surroundings: Surroundings, *, as_json: bool) -> None:
    """The inventory as JSON or as tables."""
    if as_json:
        surroundings.stdout.write(render_inventory_json(inventory).decode())
        return
    from closeout.report.console import render_inventory  # noqa: PLC0415 - only for words

    render_inventory(inventory, make_console(surroundings))


def make_console(surroundings: Surroundings) -> Console:
    """A console on the output stream that takes every text as it is."""
    from rich.console import Console  # noqa: PLC0415 - only for words

    return Console(file=surroundings.stdout, markup=False, emoji=False, highlight=False)
