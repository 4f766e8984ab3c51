"""One value in a profile or work order, as the attribute it is compared with needs it."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Final, TypeAlias

from closeout.expect.mistake import KeyPath, quote
from closeout.expect.proofreader import Proofreader
from closeout.model.attribute import Attribute, Shape, attributes_of
from closeout.model.expectation import Scalar
from closeout.model.frozen import frozen
from closeout.model.inventory import KINDS
from closeout.model.late_pattern import late_pattern


@frozen
class Mistaken:
    """Below `smallest`, nothing but another unit can be meant: this one, so many times as much."""

    smallest: int
    unit: str
    times: int


MISTAKEN_UNITS: Final[Mapping[str, Mistaken]] = {
    "µWh": Mistaken(smallest=1_000_000, unit="Wh", times=1_000_000),
    "µAh": Mistaken(smallest=100_000, unit="mAh", times=1_000),
    "µV": Mistaken(smallest=1_000_000, unit="V", times=1_000_000),
    "B": Mistaken(smallest=65_536, unit="GiB", times=1 << 30),
    "mHz": Mistaken(smallest=1_000, unit="Hz", times=1_000),
}
UUID_FORM: Final = late_pattern(r"[0-9a-f]{8}-(?:[0-9a-f]{4}-){3}[0-9a-f]{12}|[0-9a-f]{32}")
MAC_FORM: Final = late_pattern(r"[0-9a-f]{12}")
UUID_RULE: Final = "32 hex digits, with or without the four hyphens, not all 0 and not all f"


Table: TypeAlias = Mapping[str, object]
Target: TypeAlias = tuple[str, str]
"""A class and an attribute of it."""


def attribute_named(target: Target) -> Attribute:
    """What the model says of an attribute of a class."""
    kind, name = target
    return attributes_of(KINDS[kind])[name]


def read_scalar(proof: Proofreader, path: KeyPath, value: object, target: Target) -> Scalar | None:
    """The value to compare an attribute with, or None with the mistake noted."""
    attribute = attribute_named(target)
    match attribute.shape:
        case Shape.INTEGER:
            return read_measure(proof, path, value, attribute)
        case Shape.FLAG:
            return proof.flag(path, value)
        case _:
            return TEXT_READERS.get(target[1], Proofreader.text)(proof, path, value)


def read_label(proof: Proofreader, path: KeyPath, value: object, target: Target) -> Scalar | None:
    """The value as a label shows it: spaces around a text come from typing and scanning."""
    scalar = read_scalar(proof, path, value, target)
    return scalar.strip() if isinstance(scalar, str) else scalar


def read_measure(
    proof: Proofreader, path: KeyPath, value: object, attribute: Attribute
) -> int | None:
    """A whole number in the attribute's unit, and one that can be meant in it."""
    number = proof.number(path, value, attribute.unit)
    other = MISTAKEN_UNITS.get(attribute.unit)
    if number and other and number < other.smallest:
        meant = f"if {number} {other.unit} are, give {number * other.times}"
        proof.note(path, f"{number} {attribute.unit} cannot be meant; {meant}")
        return None
    return number


def read_uuid(proof: Proofreader, path: KeyPath, value: object) -> str | None:
    """A UUID in RFC 9562 text form and lower case, as it is read from the unit."""
    text = proof.text(path, value)
    if text is None:
        return None
    plain = text.strip().lower()
    digits = plain.replace("-", "")
    if UUID_FORM.fullmatch(plain) is None or set(digits) in ({"0"}, {"f"}):
        proof.note(path, f"{quote(text)} is no UUID; allowed: {UUID_RULE}")
        return None
    return "-".join((digits[:8], digits[8:12], digits[12:16], digits[16:20], digits[20:]))


def read_mac(proof: Proofreader, path: KeyPath, value: object) -> str | None:
    """An address of six pairs in lower case with colons, as the kernel writes it."""
    text = proof.text(path, value)
    if text is None:
        return None
    digits = text.strip().lower().replace(":", "").replace("-", "")
    if MAC_FORM.fullmatch(digits) is None:
        proof.note(path, f"{quote(text)} is no MAC address; allowed: 12 hex digits, : or - between")
        return None
    return ":".join(digits[at : at + 2] for at in range(0, len(digits), 2))


TEXT_READERS: Final[Mapping[str, Callable[[Proofreader, KeyPath, object], str | None]]] = {
    "uuid": read_uuid,
    "mac": read_mac,
    "current_mac": read_mac,
}
"""Attributes whose text has one written form."""
