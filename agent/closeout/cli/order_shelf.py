"""The folder in which a scanned order is looked for, and what is found there."""

from __future__ import annotations

import argparse
import os
from pathlib import Path
from typing import Final

from closeout.cli.heard import ORDERS
from closeout.cli.surroundings import Surroundings
from closeout.cli.trouble import InputTroubleError
from closeout.cli.typed_text import read_code
from closeout.expect.mistake import quote
from closeout.expect.scan import Ambiguous, Settled, settle, tidy
from closeout.expect.scanned_order import is_order_id
from closeout.expect.vocabulary import NO_ORDER, ORDER_RULE
from closeout.model.frozen import frozen

FOLDER: Final = "orders"
SUFFIXES: Final = (".toml", ".json")


@frozen
class Found:
    """An order by its number; without a file where none was found.

    `layout` is the keyboard layout that had to be undone, empty where none was.
    """

    order: str
    layout: str = ""
    file: Path | None = None


@frozen
class Shelf:
    """The folder of orders; None where there is none to look in."""

    folder: Path | None

    def file_of(self, order: str) -> Path | None:
        """The file of an order, where there is one."""
        if self.folder is None or not is_order_id(order):
            return None
        named = (self.folder / f"{order}{suffix}" for suffix in SUFFIXES)
        return next((file for file in named if file.is_file()), None)

    def find(self, typed: str, name: str) -> Found:
        """The order that was typed or scanned; `name` says where it was typed.

        Raises InputTroubleError for what no order can be called, and for what several can.
        """
        text = read_code(tidy(typed), name)
        settled = settle(typed, lambda order: self.file_of(order) is not None)
        settled = settled or settle(typed, is_order_id)
        if isinstance(settled, Ambiguous):
            several = " or ".join(map(quote, settled.texts))
            raise InputTroubleError(
                f"{name}: {quote(text)} can be {several}, by the layout of the keyboard; set the"
                " scanner to this system's layout, or type the number"
            )
        if not isinstance(settled, Settled) or settled.text.casefold() == NO_ORDER:
            raise InputTroubleError(f"{name}: {quote(text)} is no order; allowed: {ORDER_RULE}")
        file = self.file_of(settled.text)
        return Found(order=settled.text, layout=settled.layout, file=file)


def shelf_of(options: argparse.Namespace, surroundings: Surroundings) -> Shelf:
    """The folder that was named, else `orders` beside, else that of the variable.

    Raises InputTroubleError where a named one is not there.
    """
    named = options.orders
    beside = surroundings.folder / FOLDER
    if named is None and beside.is_dir():
        return Shelf(folder=beside)
    if named is not None:
        return _named(surroundings.folder / named, "--orders")
    told = os.environ.get(ORDERS, "")
    return _named(surroundings.folder / told, ORDERS) if told else Shelf(folder=None)


def _named(folder: Path, name: str) -> Shelf:
    if not folder.is_dir():
        raise InputTroubleError(f"{name}: {folder}: no such folder; name the one with the orders")
    return Shelf(folder=folder)
