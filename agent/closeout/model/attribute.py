"""What a device kind can tell: the names that profiles, reports and the manual share.

Every field of a device that holds a reading carries an `Attribute` in its metadata, so the
record is also the list of what can be demanded of it.
"""

from __future__ import annotations

from collections.abc import Hashable, Mapping
from enum import Enum
from functools import cache
from typing import Final, cast

from closeout.model.frozen import fields, frozen

METADATA_KEY: Final = "attribute"


class Shape(Enum):
    """What kind of value an attribute holds, which decides how it can be compared."""

    TEXT = "text"
    INTEGER = "integer"
    FLAG = "flag"
    VERSION = "version"
    TEXTS = "texts"


@frozen
class Attribute:
    """One thing a device kind can tell; `unit` is empty for a plain number or text.

    `by_place` is what is read off the name or the place of the device: it proves nothing there.
    """

    meaning: str
    shape: Shape
    unit: str
    personal: bool
    by_place: bool = False


def about(
    meaning: str,
    shape: Shape = Shape.TEXT,
    *,
    unit: str = "",
    personal: bool = False,
    by_place: bool = False,
) -> Mapping[str, Attribute]:
    """Metadata for a device field: what it means, its shape and unit, personal data or not."""
    attribute = Attribute(
        meaning=meaning, shape=shape, unit=unit, personal=personal, by_place=by_place
    )
    return {METADATA_KEY: attribute}


def attributes_of(kind: type) -> Mapping[str, Attribute]:
    """The attributes of a device record in the order of its fields."""
    return _attributes_of(cast("Hashable", kind))


@cache
def _attributes_of(kind: Hashable) -> Mapping[str, Attribute]:
    return {
        field.name: field.metadata[METADATA_KEY]
        for field in fields(cast("type", kind))
        if METADATA_KEY in field.metadata
    }
