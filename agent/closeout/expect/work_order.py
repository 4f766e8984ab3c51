"""What a work order says: this unit and this repair, with demands that are all a must.

`expect/order_file.py` reads one out of a file, which a check without an order never loads.
"""

from __future__ import annotations

from collections.abc import Mapping

from closeout.expect.vocabulary import WORK_ORDER_FORMAT
from closeout.model.expectation import Expectation, Scalar
from closeout.model.frozen import field, frozen
from closeout.model.handling import OrderFacts
from closeout.model.part_demand import PartDemand
from closeout.model.report import SourceFile


@frozen
class Declined:
    """What the customer declined, why, and the class it is about; empty where none is named."""

    kind: str
    what: str
    reason: str


@frozen
class WorkOrder:
    """One repair of one unit.

    `profile` is empty where the order names none. `unit` holds what the label says, by class and
    attribute; `digest` is the SHA-256 of the file; `parts` are those that were fitted; `facts` what
    the report says beside the demands; `options` says, by name, which form the unit has of what its
    model comes with in several; `revision` is the format of the file.
    """

    order: str
    digest: str
    profile: str
    repairs: tuple[str, ...]
    unit: Mapping[tuple[str, str], Scalar]
    expectations: tuple[Expectation, ...]
    parts: tuple[PartDemand, ...] = ()
    facts: OrderFacts = OrderFacts()
    declined: tuple[Declined, ...] = ()
    options: Mapping[str, str] = field(default_factory=dict)
    revision: str = f"format {WORK_ORDER_FORMAT}"

    @property
    def missing(self) -> frozenset[str]:
        """The classes that the unit came without."""
        return frozenset(gap.what for gap in self.facts.not_present)

    @property
    def source(self) -> SourceFile:
        """How a report names it."""
        return SourceFile(name=self.order, revision=self.revision, digest=self.digest)
