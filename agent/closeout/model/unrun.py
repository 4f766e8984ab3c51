"""A unit that was not judged: it does not start, is locked, or nobody checked it."""

from __future__ import annotations

from enum import Enum

from closeout.model.frozen import frozen
from closeout.model.moment import Moment


class WhyUnrun(Enum):
    """Why there is no report."""

    NO_BOOT = "no-boot"
    LOCKED = "locked"
    NOT_CHECKED = "not-checked"


@frozen
class Unrun:
    """The record that stands in place of a report; there is no verdict in it.

    `number` counts the records of the order, from 1. `note` and `station` are empty where nobody
    told.
    """

    agent: str
    order: str
    number: int
    why: WhyUnrun
    note: str
    by: str
    station: str
    at: Moment
