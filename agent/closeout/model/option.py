"""What a model comes with in several forms: two panels, with or without a fingerprint reader."""

from __future__ import annotations

from closeout.model.expectation import Expectation
from closeout.model.frozen import frozen


@frozen
class Choice:
    """One form of an option; `sku` is a pattern of the units that have it, empty where none is."""

    name: str
    sku: str
    expectations: tuple[Expectation, ...]


@frozen
class Option:
    """Two forms or more, of which every unit of the model has one."""

    name: str
    choices: tuple[Choice, ...]
