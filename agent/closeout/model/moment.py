"""A time, and who says so: the unit's own clock proves nothing."""

from __future__ import annotations

from closeout.model.frozen import frozen


@frozen
class Moment:
    """A time in ISO 8601 UTC and where it comes from; the unit's own clock proves nothing."""

    text: str
    source: str


@frozen
class ReferenceTime:
    """What time it was by a named source other than the unit: the ruler for the unit's clock.

    `moment` was right when the running kernel's count since its start, which dates nothing, was
    at `taken_at_microseconds`.
    """

    moment: Moment
    taken_at_microseconds: int
