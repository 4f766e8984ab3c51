"""Who handled the unit, what the order says beside its demands, and what was said before."""

from __future__ import annotations

from typing import Final

from closeout.model.frozen import frozen
from closeout.model.moment import Moment


@frozen
class Handling:
    """Who checked the unit, where, and from which stick; each empty where nobody told.

    `label` is what was scanned off the unit's label, in the form that the firmware would have it.
    """

    operator: str = ""
    station: str = ""
    stick: str = ""
    stick_build: str = ""
    label: str = ""


@frozen
class PartChange:
    """A part that was fitted or removed: its class, part number and serial, empty if not told."""

    kind: str
    is_fitted: bool
    part_number: str
    serial: str


@frozen
class Omission:
    """What the unit came without, or the customer declined, and why."""

    what: str
    reason: str


@frozen
class OrderFacts:
    """What the work order says beside its demands; each empty where it does not.

    `firmware_password` is `none`, `known` or `unknown`; `encryption` is `none`, `used` or
    `unknown`, and `recovery_key` is `confirmed` or `not confirmed`.
    """

    parts: tuple[PartChange, ...] = ()
    not_present: tuple[Omission, ...] = ()
    declined: tuple[Omission, ...] = ()
    firmware_password: str = ""
    encryption: str = ""
    recovery_key: str = ""


@frozen
class EarlierAttempt:
    """What an earlier attempt at the same order said; `digest` is of its report's bytes."""

    attempt: int
    revision: int
    verdict: str
    reasons: tuple[str, ...]
    reopened: tuple[str, ...]
    started: Moment
    digest: str


@frozen
class Revision:
    """One thing said after the check: `change` in a sentence, and the report that it was said of.

    `number` is that of the report that holds it; `digest` is of the bytes of the one before.
    """

    number: int
    change: str
    by: str
    at: Moment
    digest: str


@frozen
class VoidProof:
    """An answer or a concession of the attempt before that does not hold any more, and why.

    `said` is what was said, by whom and for what reason, in a sentence.
    """

    rule: str
    subject: str
    said: str
    why: str


LONGEST_BAR_CODE: Final = 48
"""Characters of a bar code that still fits a sheet of A4 and a scanner's line."""


def fits_bar_code(text: str) -> bool:
    """Whether a Code 128 bar code holds it: printable ASCII (ISO/IEC 15417), and not too long."""
    return 0 < len(text) <= LONGEST_BAR_CODE and text.isascii() and text.isprintable()


@frozen
class HandBackItem:
    """One thing still to do: `value` stands large, and as a bar code where it can be scanned.

    `found` is what the unit has in its place; `caution` is empty where nothing can be lost.
    """

    title: str
    action: str
    value: str
    found: str
    is_scannable: bool
    caution: str


@frozen
class HandBack:
    """What is still to do before the customer gets the unit, in the order to do it.

    `withheld` says why no value is shown; empty where they are.
    """

    items: tuple[HandBackItem, ...]
    withheld: str = ""
