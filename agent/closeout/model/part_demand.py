"""One part that the unit must have: one device, and what is wanted of it."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final, TypeAlias

from closeout.model.expectation import (
    PRESENCE,
    Condition,
    Demand,
    Expectation,
    Present,
    Weight,
    rule_id,
)
from closeout.model.frozen import frozen

Wanted: TypeAlias = tuple[str, Demand]
"""An attribute, and what is demanded of it."""

UNEXPECTED: Final = "unexpected"
"""What stands in a rule id where a device is there that no part of the profile is."""

PLACES: Final = frozenset({"locator", "connector"})
"""Attributes that say in which socket or at which connector a part sits."""

OWN_NUMBERS: Final = frozenset({"serial", "edid_serial", "mac"})
"""Attributes that no second part of the same sort has too."""

ONE: Final = Present(at_least=1, at_most=None)
NO_CONDITION: Final[tuple[Condition, ...]] = ()


@frozen
class PartDemand:
    """One part, which is one device: no device stands for two parts of the same file.

    `name` is what people call it ("memory module in slot 2"); `wanted` is what the device should
    have. Which device is meant is told by all of that together and not by one attribute of it.
    With `review_only` a mismatch asks a person instead of failing. `names_all` is true where the
    file names every part of the class, so that a device left over is unexpected.
    """

    kind: str
    name: str
    weight: Weight
    wanted: tuple[Wanted, ...]
    connection: str
    bus_ids: tuple[str, ...]
    origin: str
    review_only: bool
    external_counts: bool = False
    names_all: bool = False

    @property
    def presence(self) -> Expectation:
        """That there is such a device at all."""
        return self._expect("", ONE)

    @property
    def demands(self) -> tuple[Expectation, ...]:
        """What is wanted of the device, attribute by attribute."""
        return tuple(self._expect(attribute, demand) for attribute, demand in self.wanted)

    @property
    def rules(self) -> Iterator[str]:
        """Every rule under which there can be a finding about the part."""
        yield rule_id(self.kind, PRESENCE)
        for attribute, _ in self.wanted:
            yield rule_id(self.kind, attribute)
        if self.names_all:
            yield rule_id(self.kind, UNEXPECTED)

    def _expect(self, attribute: str, demand: Demand) -> Expectation:
        return Expectation(
            kind=self.kind,
            attribute=attribute,
            demand=demand,
            weight=self.weight,
            where=NO_CONDITION,
            review_only=self.review_only,
            external_counts=self.external_counts,
            origin=self.origin,
            part=self.name,
            connection=self.connection,
            bus_ids=self.bus_ids,
        )
