"""What is still to do before the customer gets the unit, in the order to do it."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from typing import Final

from closeout.model.amounts import show_value
from closeout.model.catalogue import Entry
from closeout.model.expectation import Scalar
from closeout.model.finding import Finding, Outcome
from closeout.model.frozen import frozen
from closeout.model.handling import HandBack, HandBackItem, OrderFacts, fits_bar_code

BOARD_SWAP: Final = "system-board"
IDENTITY: Final = ("system", "chassis", "board")
SERIAL: Final = ("system", "serial")
PROGRAM: Final = (
    "Program it by the maker's procedure for a new board, restart, and check --again: the kernel"
    " reads this field once, at its start."
)
NOT_SAID: Final = (
    "The order does not say what belongs here: take it from the unit's label or the maker's"
    " records. Program it, restart, and check --again."
)
PASSWORDS: Final[Mapping[str, str]] = {
    "known": "Set it again as the customer had it, or tell the customer that it is gone.",
    "unknown": "Ask the customer for it, or say that the new board has none.",
}
"""What to do about the password of the firmware, by what the order says of it."""
OTHER_UNIT: Final = (
    "the scanned label does not agree with the order, so no value is shown to be typed: find out"
    " first which unit or which order is on the bench"
)


@frozen
class OrderedUnit:
    """What the order says of the unit: the label's fields by kind and attribute, and the rest."""

    unit: Mapping[tuple[str, str], Scalar]
    facts: OrderFacts
    label: str = ""

    @property
    def withheld(self) -> str:
        """Why no value may be shown; empty where it may, or no label was scanned."""
        serial = self.unit.get(SERIAL)
        disagrees = self.label and serial is not None and self.label != str(serial)
        return OTHER_UNIT if disagrees else ""


def hand_back_of(
    findings: Sequence[Finding],
    words: Mapping[str, Entry],
    repairs: Iterable[str],
    order: OrderedUnit,
) -> HandBack | None:
    """The list after a board swap, or where the unit's identity is not as it should be.

    None where neither is so.
    """
    is_swap = BOARD_SWAP in repairs
    open_ones = [finding for finding in findings if finding.outcome is not Outcome.PASS]
    if not is_swap and not any(_is_identity(finding) for finding in open_ones):
        return None
    items = (
        *_ask_for_key(order.facts),
        *_program_fields(open_ones, words, order),
        *_update_firmware(open_ones),
        *_restore_licence(open_ones),
        *_set_clock(open_ones),
        *_switch_on(open_ones),
        *(_after_a_swap(order.facts) if is_swap else ()),
    )
    return HandBack(items=items, withheld=order.withheld)


def _is_identity(finding: Finding) -> bool:
    return finding.outcome is Outcome.FAIL and finding.kind in {*IDENTITY, "licence"}


def _ask_for_key(facts: OrderFacts) -> Iterator[HandBackItem]:
    """First of all: what is lost without the key cannot be brought back."""
    if facts.encryption == "none":
        return
    if facts.recovery_key == "confirmed":
        action = "The customer has confirmed to have it. The unit will ask for it at its start."
        caution = ""
    else:
        action = (
            "Touch neither firmware, Secure Boot nor TPM before the customer has said to have it:"
            " an encrypted disk will ask for it at the next start."
        )
        caution = "Without the key the customer's files are lost."
    yield _note("Recovery key of an encrypted disk", action, caution=caution)


def _program_fields(
    findings: Iterable[Finding], words: Mapping[str, Entry], order: OrderedUnit
) -> Iterator[HandBackItem]:
    for finding in findings:
        kind, _, attribute = finding.rule.partition(".")
        if kind not in IDENTITY:
            continue
        value = order.unit.get((kind, attribute))
        if value is None and finding.outcome is not Outcome.FAIL:
            continue
        text = "" if value is None or order.withheld else show_value(value, "")
        yield HandBackItem(
            title=words[finding.rule].title,
            action=NOT_SAID if value is None else PROGRAM,
            value=text,
            found=finding.found,
            is_scannable=fits_bar_code(text),
            caution="",
        )


def _update_firmware(findings: Iterable[Finding]) -> Iterator[HandBackItem]:
    for finding in findings:
        if finding.rule == "bios.version":
            yield _note(
                "System firmware",
                f"Bring it up to date by the maker's procedure, adapter in: wanted is"
                f" {finding.expected}.",
                found=finding.found,
                caution="Not without the recovery key of an encrypted disk, and not on the pack"
                " alone: an update that stops half way can leave the unit dead.",
            )


def _restore_licence(findings: Iterable[Finding]) -> Iterator[HandBackItem]:
    found = [finding for finding in findings if finding.kind == "licence"]
    if found:
        yield _note(
            "Licence table",
            "Have it restored by the maker's procedure for a new board, restart, and check"
            " --again. The key itself is not written down.",
            found=found[0].found,
        )


def _set_clock(findings: Iterable[Finding]) -> Iterator[HandBackItem]:
    found = [finding for finding in findings if finding.kind == "clock"]
    if found:
        yield _note(
            "Clock",
            "Set date and time in the firmware's setup, and look whether they stay without power.",
            found=found[0].found,
        )


def _switch_on(findings: Iterable[Finding]) -> Iterator[HandBackItem]:
    for finding in findings:
        if finding.rule == "firmware.secure_boot":
            yield _note(
                "Secure Boot",
                "Put it as the customer had it, after the identity is programmed.",
                found=finding.found,
                caution="A change makes an encrypted disk ask for its recovery key.",
            )


def _after_a_swap(facts: OrderFacts) -> Iterator[HandBackItem]:
    yield _note(
        "TPM",
        "The new board has a TPM of its own. What the old one kept is gone: tell the customer that"
        " sign-in by PIN, face or finger has to be set up again.",
    )
    if action := PASSWORDS.get(facts.firmware_password):
        yield _note("Password of the firmware", action)
    yield _note(
        "Settings that were changed for the check",
        "Put back what was switched on to start from a stick: starting from USB, and certificates"
        " of third parties for starting.",
    )


def _note(title: str, action: str, *, found: str = "", caution: str = "") -> HandBackItem:
    return HandBackItem(
        title=title, action=action, value="", found=found, is_scannable=False, caution=caution
    )
