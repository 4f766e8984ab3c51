"""Order, label and operator before the reading: by options, or scanned at the terminal."""

from __future__ import annotations

import argparse
import os
from collections.abc import Callable, Iterator
from functools import partial
from typing import Final

from closeout.cli.dialogue import Dialogue
from closeout.cli.heard import STATION, STICK, Heard
from closeout.cli.order_shelf import Found, Shelf, shelf_of
from closeout.cli.surroundings import Surroundings
from closeout.cli.trouble import InputTroubleError
from closeout.cli.typed_text import read_code
from closeout.cli.words import say_line
from closeout.expect.mistake import Mistakes
from closeout.expect.scan import read_as, settle, tidy
from closeout.expect.scanned_order import make_scanned_order, order_text
from closeout.model.frozen import frozen, replace
from closeout.model.handling import Handling

ORDER: Final = "Scan the order"
ORDER_SKIPPED: Final = "Enter = no order: the unit is held against its model alone."
LABEL: Final = "Scan the unit's label"
LABEL_SKIPPED: Final = "Enter = no label: nobody compares unit and order."
OPERATOR: Final = "Scan your code"
OPERATOR_SKIPPED: Final = "Enter = no code: the report does not say who checked."
REPAIR: Final = "Scan a repair that was done"
REPAIR_SKIPPED: Final = "Off the answer card, one by one; Enter = no more."
TWICE: Final = "that is the order once more; the label of the unit is wanted"
NO_TERMINAL: Final = (
    "--scan: nobody sits at a terminal, or --json or --quiet is given; say --order, --label and"
    " --operator instead"
)


@frozen
class Scans:
    """What was said or scanned, each empty where it was not."""

    order: Found | None = None
    label: str = ""
    operator: str = ""
    repairs: tuple[str, ...] = ()

    @property
    def layout(self) -> str:
        """The layout that the scanner does not know of, as far as the order told it."""
        return self.order.layout if self.order else ""


def hear_scans(options: argparse.Namespace, surroundings: Surroundings, *, asks: bool) -> Heard:
    """What options and variables say, and where `asks` what is scanned for the rest.

    Raises InputTroubleError for what cannot be used, and where options contradict each other.
    """
    _refuse_contradictions(options, asks=asks)
    station = _optional(options.station or os.environ.get(STATION, ""), "--station")
    stick = _optional(options.stick or os.environ.get(STICK, ""), "--stick")
    shelf = shelf_of(options, surroundings)
    scans = _read_options(options, shelf)
    if asks:
        has_order = bool(options.work_order or options.again)
        scans = _Scanning(surroundings, shelf, scans).hold(has_order=has_order)
    handling = Handling(operator=scans.operator, station=station, stick=stick, label=scans.label)
    return _heard(scans, handling, shelf, _tell(options, surroundings))


def _refuse_contradictions(options: argparse.Namespace, *, asks: bool) -> None:
    if options.scan and not asks:
        raise InputTroubleError(NO_TERMINAL)
    if options.order and options.work_order:
        raise InputTroubleError("--order and --work-order: give one of them")
    if options.order and options.again:
        raise InputTroubleError("--order: with --again the order is that of the attempt before")


def _read_options(options: argparse.Namespace, shelf: Shelf) -> Scans:
    return Scans(
        order=shelf.find(options.order, "--order") if options.order else None,
        label=_optional(options.label or "", "--label"),
        operator=_optional(options.operator or "", "--operator"),
    )


def _optional(text: str, name: str) -> str:
    """A code that may be missing. Raises InputTroubleError."""
    return read_code(tidy(text), name) if text else ""


def _tell(options: argparse.Namespace, surroundings: Surroundings) -> Callable[[str], None]:
    """How one line is said that belongs to no report."""
    is_in_words = not options.json and not options.quiet
    stream = surroundings.stdout if is_in_words else surroundings.stderr
    return partial(say_line, stream=stream)


def _heard(scans: Scans, handling: Handling, shelf: Shelf, tell: Callable[[str], None]) -> Heard:
    order = scans.order
    if order is None:
        return Heard(handling=handling)
    if order.file:
        return Heard(handling=handling, order=order.order, file=order.file)
    made = make_scanned_order(order.order, handling.label)
    if isinstance(made, Mistakes):
        raise InputTroubleError(*(mistake.show() for mistake in made.found))
    where = f"no file of it in {shelf.folder}" if shelf.folder else "no folder of orders is here"
    what = "order and label alone" if handling.label else "its number alone, no serial is compared"
    tell(f"Order {order.order}: {where}; it is made of {what}.")
    text = order_text(order.order, handling.label)
    return Heard(
        handling=handling,
        order=order.order,
        scanned=made,
        order_text=text,
        repairs=scans.repairs,
    )


class _Scanning:
    """The three questions before the reading."""

    def __init__(self, surroundings: Surroundings, shelf: Shelf, known: Scans) -> None:
        self._shelf = shelf
        self._scans = known
        self._dialogue = Dialogue(surroundings)
        self._ask = self._dialogue.ask

    def hold(self, *, has_order: bool) -> Scans:
        """Asks for what is not known, until the person stops."""
        if not has_order and self._scans.order is None:
            order = self._ask(ORDER, ORDER_SKIPPED, self._read_order)
            self._scans = replace(self._scans, order=order)
        if not self._scans.label:
            label = self._ask(LABEL, LABEL_SKIPPED, self._read_label)
            self._scans = replace(self._scans, label=label or "")
        if not self._scans.operator:
            operator = self._ask(OPERATOR, OPERATOR_SKIPPED, self._read_operator)
            self._scans = replace(self._scans, operator=operator or "")
        order = self._scans.order
        if order and order.file is None:  # a file says what was repaired, a number does not
            repairs = tuple(dict.fromkeys(self._ask_repairs()))
            self._scans = replace(self._scans, repairs=repairs)
        return self._scans

    def _ask_repairs(self) -> Iterator[str]:
        return self._dialogue.ask_repairs(REPAIR, REPAIR_SKIPPED)

    def _read_order(self, typed: str) -> Found:
        return self._shelf.find(typed, "order")

    def _read_label(self, typed: str) -> str:
        order = self._scans.order
        if order and settle(typed, lambda text: text == order.order):
            raise InputTroubleError(TWICE)
        is_made = order is not None and order.file is None
        return read_code(read_as(self._scans.layout if is_made else "", typed), "label")

    def _read_operator(self, typed: str) -> str:
        return read_code(read_as(self._scans.layout, typed), "code")
