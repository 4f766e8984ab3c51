"""A summary without what tells whose units came back."""

from __future__ import annotations

from closeout.depot.pages.collision_words import masked
from closeout.depot.summary import Returned, Summary
from closeout.model.frozen import replace


def hide_units(summary: Summary) -> Summary:
    """The same with units masked, also where a unit stands for an order without a number."""
    return replace(summary, returned=tuple(map(_hidden, summary.returned)))


def _hidden(back: Returned) -> Returned:
    own = masked(back.unit)
    order, after = (own if text == back.unit else text for text in (back.order, back.next_order))
    return replace(back, unit=own, order=order, next_order=after)
