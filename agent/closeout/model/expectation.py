"""One demand on the unit, as profile and work order together make it."""

from __future__ import annotations

from enum import Enum
from typing import Final, TypeAlias

from closeout.model.attribute import Shape
from closeout.model.frozen import frozen

Scalar: TypeAlias = str | int | bool


class Weight(Enum):
    """How much a demand counts: only a must can hold or delay a unit."""

    MUST = "must"
    SHOULD = "should"
    NOTE = "note"


@frozen
class Present:
    """At least `at_least` and, where given, at most `at_most` such devices."""

    at_least: int
    at_most: int | None


@frozen
class Filled:
    """The attribute has a value: not blank, not filler, not absent."""


@frozen
class Equals:
    """The attribute has exactly this value."""

    value: Scalar


@frozen
class OneOf:
    """The attribute has one of these values."""

    values: tuple[Scalar, ...]


@frozen
class Pattern:
    """The whole text matches this regular expression (Python's `re`)."""

    pattern: str


@frozen
class Within:
    """The number lies between the bounds, both included; None leaves a side open."""

    low: int | None
    high: int | None


@frozen
class MatchesOrder:
    """The attribute equals what the work order gives; None when no order gives it."""

    value: Scalar | None


@frozen
class NewerOrEqual:
    """The version is this one or a newer one."""

    version: str


@frozen
class Empty:
    """The list could be read and nothing is in it."""


@frozen
class Asked:
    """A person says whether it is so: no reading tells. `wanted` is empty for a plain yes."""

    wanted: str = ""


Demand: TypeAlias = (
    Present
    | Filled
    | Equals
    | OneOf
    | Pattern
    | Within
    | MatchesOrder
    | NewerOrEqual
    | Empty
    | Asked
)


@frozen
class Condition:
    """Which devices a demand is about: those whose attribute has this value."""

    attribute: str
    value: Scalar


About: TypeAlias = tuple[str, str, tuple[Condition, ...]]


@frozen
class Expectation:
    """A demand on the devices of one kind.

    `attribute` is empty for a `Present` demand. With `review_only` a mismatch asks a person
    instead of failing. `origin` names the file that made the demand. `part` is what people call
    the thing ("fingerprint reader") and `connection` the cable, ribbon or socket to look at, both
    empty where the file does not say. `bus_ids` are the ids by which a bus shows the thing even
    without a driver.
    """

    kind: str
    attribute: str
    demand: Demand
    weight: Weight
    where: tuple[Condition, ...]
    review_only: bool
    external_counts: bool
    origin: str
    part: str = ""
    connection: str = ""
    bus_ids: tuple[str, ...] = ()

    @property
    def about(self) -> About:
        """What another demand must share to stand in its place: class, attribute, conditions."""
        return self.kind, self.attribute, self.where

    @property
    def rule(self) -> str:
        """The id under which the catalogue explains this demand."""
        return rule_id(self.kind, self.attribute)


CONNECTION: Final = "connection"
"""What a repair disturbs and a person looks at stands under this in place of a kind of device."""

PRESENCE: Final = "presence"
"""What stands in a rule id where no attribute does."""


def rule_id(kind: str, attribute: str) -> str:
    """`battery.health_percent`, or `battery.presence` where no attribute is named."""
    return f"{kind}.{attribute or PRESENCE}"


DEMANDS_BY_SHAPE: dict[Shape, tuple[type, ...]] = {
    Shape.TEXT: (Filled, Equals, OneOf, Pattern, MatchesOrder),
    Shape.INTEGER: (Filled, Equals, OneOf, Within, MatchesOrder),
    Shape.FLAG: (Filled, Equals),
    Shape.VERSION: (Filled, Equals, OneOf, Pattern, MatchesOrder, NewerOrEqual),
    Shape.TEXTS: (Filled, Equals, OneOf, Pattern, MatchesOrder, Empty),
}
"""Which demands an attribute can take. On texts a demand asks that one of them meets it."""
