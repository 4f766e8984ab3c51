"""A field of an EDID that says nothing: a named absence, never a number."""

from __future__ import annotations

from typing import TypeAlias, TypeVar

from closeout.model.frozen import frozen

T = TypeVar("T")


@frozen
class NotGiven:
    """The block leaves the field open; `reason` is for people."""

    reason: str


Given: TypeAlias = T | NotGiven
