"""What a work order says beside its demands: parts, refusals, passwords and encryption.

firmware_password = "known"             none, known, unknown

[encryption]
state = "used"                          none, used, unknown
recovery_key_confirmed = true

[[removed]]
class = "battery"
part_number = "QP-4471"
serial = "P7730-0017"

[[declined]]
class = "battery"                       may be left out
what = "a new pack"
reason = "the customer finds it good enough"
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from closeout.expect.demand import read_line, read_word
from closeout.expect.proofreader import Proofreader
from closeout.expect.scalar import Table
from closeout.expect.vocabulary import FITTED_CLASSES, MOST_PARTS
from closeout.expect.work_order import Declined
from closeout.model.expectation import Equals
from closeout.model.handling import Omission, OrderFacts, PartChange
from closeout.model.inventory import KINDS
from closeout.model.part_demand import OWN_NUMBERS, PartDemand

FACT_KEYS: Final = ("firmware_password", "encryption", "removed", "declined")
PASSWORDS: Final = ("none", "known", "unknown")
ENCRYPTIONS: Final = ("none", "used", "unknown")
ENCRYPTION_KEYS: Final = ("state", "recovery_key_confirmed")
REMOVED_KEYS: Final = ("class", "part_number", "serial")
DECLINED_KEYS: Final = ("class", "what", "reason")
PART_NUMBER: Final = "part_number"
BOARD: Final = "board"
REMOVED_CLASSES: Final = (BOARD, *FITTED_CLASSES)
"""What can be taken out; a fitted board is told by `[unit]`."""


def read_facts(
    proof: Proofreader,
    tree: Table,
    fitted: tuple[PartChange, ...],
    not_present: tuple[Omission, ...],
    declined: tuple[Declined, ...],
) -> OrderFacts:
    """The facts of an order, with every mistake noted; parts and omissions are read before."""
    encryption, recovery_key = _read_encryption(proof, tree)
    return OrderFacts(
        parts=(*_read_removed(proof, tree), *fitted),
        not_present=not_present,
        declined=tuple(Omission(what=each.what, reason=each.reason) for each in declined),
        firmware_password=read_word(proof, (), tree, "firmware_password", PASSWORDS),
        encryption=encryption,
        recovery_key=recovery_key,
    )


def read_declined(proof: Proofreader, tree: Table) -> Iterator[Declined]:
    """What stands under `[[declined]]`."""
    for path, table in proof.tables(("declined",), tree.get("declined", []), MOST_PARTS):
        proof.known_keys(path, table, DECLINED_KEYS)
        proof.required(path, table, "what", "reason")
        yield Declined(
            kind=read_word(proof, path, table, "class", tuple(KINDS)),
            what=read_line(proof, path, table, "what"),
            reason=read_line(proof, path, table, "reason"),
        )


def change_of(part: PartDemand, table: Table) -> PartChange:
    """A fitted part as a report names it, by what the order says of it."""
    number = table.get(PART_NUMBER, "")
    own = [
        str(demand.value)
        for name, demand in part.wanted
        if name in OWN_NUMBERS and isinstance(demand, Equals)
    ]
    return PartChange(
        kind=part.kind,
        is_fitted=True,
        part_number=number if isinstance(number, str) else "",
        serial=own[0] if own else "",
    )


def _read_encryption(proof: Proofreader, tree: Table) -> tuple[str, str]:
    path = ("encryption",)
    table = proof.table(path, tree.get("encryption", {}))
    proof.known_keys(path, table, ENCRYPTION_KEYS)
    if table:
        proof.required(path, table, "state")
    state = read_word(proof, path, table, "state", ENCRYPTIONS)
    if "recovery_key_confirmed" not in table:
        return state, ""
    place = (*path, "recovery_key_confirmed")
    is_confirmed = proof.flag(place, table["recovery_key_confirmed"])
    if state == "none":
        proof.note(place, "the disk is not encrypted by `state`, so there is no key")
    return state, "confirmed" if is_confirmed else "not confirmed"


def _read_removed(proof: Proofreader, tree: Table) -> Iterator[PartChange]:
    for path, table in proof.tables(("removed",), tree.get("removed", []), MOST_PARTS):
        proof.known_keys(path, table, REMOVED_KEYS)
        proof.required(path, table, "class")
        yield PartChange(
            kind=read_word(proof, path, table, "class", REMOVED_CLASSES),
            is_fitted=False,
            part_number=read_line(proof, path, table, PART_NUMBER),
            serial=read_line(proof, path, table, "serial"),
        )
