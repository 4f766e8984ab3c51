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
    from closeout.cli.terms import Demands
    from closeout.expect.profile import Profile


def read_label(
    demands: Demands, profile: Profile, catalogue: Catalogue
) -> tuple[Handling, Catalogue]:
    """The handling with the label as the order would have it, and the catalogue of the run.

    The rule stands in it where label and order can disagree: an order that was made of this very
    label cannot.
    """
    order = demands.work_order
    serial = str(order.unit.get(SERIAL, "")) if order else ""
    label = read_scanned_label(demands.handling.label, serial, profile.labels)
    handling = replace(demands.handling, label=label)
    is_own = order is not None and order.revision == SCANNED and not demands.earlier
    if not serial or is_own:
        return handling, catalogue
    entries = {**catalogue.entries, LABEL_RULE: LABEL_ENTRY}
    return handling, replace(catalogue, entries=entries)
