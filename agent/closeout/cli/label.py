"""The scanned label on its way to be judged: in the order's form, and with words for the rule."""

from __future__ import annotations

from typing import TYPE_CHECKING

from closeout.expect.label_agreement import read_scanned_label
from closeout.expect.scanned_order import SCANNED
from closeout.judge.hand_back import SERIAL
from closeout.model.catalogue import Catalogue
from closeout.model.frozen import replace
from closeout.model.handling import Handling
from closeout.model.label_agreement import LABEL_ENTRY, LABEL_RULE

if TYPE_CHECKING:
    from closeout.expect.profile import Profile
    from closeout.expect.work_order import WorkOrder


def in_form_of_order(handling: Handling, order: WorkOrder | None, profile: Profile) -> Handling:
    """The handling with the label as the order would have it."""
    label = read_scanned_label(handling.label, _serial_of(order), profile.labels)
    return replace(handling, label=label)


def with_label_rule(
    catalogue: Catalogue, order: WorkOrder | None, *, is_first_attempt: bool
) -> Catalogue:
    """The catalogue of a run with a label.

    The rule stands in it where label and order can disagree: an order that was made of this very
    label cannot.
    """
    is_own = order is not None and order.revision == SCANNED and is_first_attempt
    if not _serial_of(order) or is_own:
        return catalogue
    return replace(catalogue, entries={**catalogue.entries, LABEL_RULE: LABEL_ENTRY})


def _serial_of(order: WorkOrder | None) -> str:
    return str(order.unit.get(SERIAL, "")) if order else ""
