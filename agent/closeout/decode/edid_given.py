"""A field of an EDID that says nothing: a named absence, never a number."""

from dataclasses import dataclass
from typing import TypeAlias, TypeVar

T = TypeVar("T")


@dataclass(frozen=True, slots=True, kw_only=True)
class NotGiven:
    """The block leaves the field open; `reason` is for people."""

    reason: str


Given: TypeAlias = T | NotGiven
