"""What a work order says beside its demands."""

import pytest

from closeout.expect.mistake import Mistakes
from closeout.expect.order_file import parse_work_order
from closeout.expect.work_order import Declined, WorkOrder
from closeout.model.handling import Omission, OrderFacts, PartChange

HEAD = 'work_order = 1\norder = "RX-1"\n'
FULL = """firmware_password = "known"

[encryption]
state = "used"
recovery_key_confirmed = true

[[removed]]
class = "battery"
part_number = "QP-4471"
serial = "P7730-0017"

[[removed]]
class = "board"

[[fitted]]
class = "battery"
part_number = "QP-4472"
serial = "P7731-0002"

[[fitted]]
class = "drive"

[[not_present]]
class = "wwan"
reason = "the customer keeps it"

[[declined]]
class = "display"
what = "a new panel"
reason = "one bright spot is fine"

[[declined]]
what = "cleaning"
reason = "the customer cleans it"
"""


def order_of(text: str) -> WorkOrder:
    outcome = parse_work_order("x.toml", (HEAD + text).encode())
    assert isinstance(outcome, WorkOrder), outcome.show()
    return outcome


def mistakes(text: str) -> str:
    outcome = parse_work_order("x.toml", (HEAD + text).encode())
    assert isinstance(outcome, Mistakes)
    return outcome.show()


def test_an_order_that_says_nothing_has_no_facts() -> None:
    order = order_of("")
    assert (order.facts, order.declined) == (OrderFacts(), ())


def test_everything_that_can_be_said() -> None:
    order = order_of(FULL)
    panel = Omission(what="a new panel", reason="one bright spot is fine")
    cleaning = Omission(what="cleaning", reason="the customer cleans it")
    assert order.facts == OrderFacts(
        parts=(
            change("battery", number="QP-4471", serial="P7730-0017"),
            change("board"),
            change("battery", number="QP-4472", serial="P7731-0002", is_fitted=True),
            change("drive", is_fitted=True),
        ),
        not_present=(Omission(what="wwan", reason="the customer keeps it"),),
        declined=(panel, cleaning),
        firmware_password="known",  # noqa: S106 - whether, not which
        encryption="used",
        recovery_key="confirmed",
    )
    assert order.declined == (
        Declined(kind="display", what=panel.what, reason=panel.reason),
        Declined(kind="", what=cleaning.what, reason=cleaning.reason),
    )


def change(kind: str, *, number: str = "", serial: str = "", is_fitted: bool = False) -> PartChange:
    return PartChange(kind=kind, is_fitted=is_fitted, part_number=number, serial=serial)


@pytest.mark.parametrize(
    ("text", "encryption", "key"),
    [
        ('[encryption]\nstate = "none"\n', "none", ""),
        ('[encryption]\nstate = "unknown"\n', "unknown", ""),
        ('[encryption]\nstate = "used"\nrecovery_key_confirmed = false\n', "used", "not confirmed"),
        ("[encryption]\n", "", ""),
    ],
)
def test_what_is_said_of_encryption(text: str, encryption: str, key: str) -> None:
    facts = order_of(text).facts
    assert (facts.encryption, facts.recovery_key) == (encryption, key)


@pytest.mark.parametrize(
    ("text", "wrong"),
    [
        ('firmware_password = "secret"\n', "firmware_password: 'secret' is not known here"),
        ('[encryption]\nstate = "perhaps"\n', "encryption.state: 'perhaps' is not known"),
        ("[encryption]\nrecovery_key_confirmed = true\n", "encryption.state: missing"),
        ('[encryption]\nstate = "none"\nrecovery_key_confirmed = true\n', "so there is no key"),
        ('[encryption]\nstate = "used"\nrecovery_key_confirmed = "yes"\n', "true or false"),
        ('[encryption]\nstate = "used"\nkey = "1"\n', "encryption.key: no such key"),
        ('[[removed]]\nserial = "S"\n', "removed[1].class: missing"),
        ('[[removed]]\nclass = "screw"\n', "removed[1].class: 'screw' is not known here"),
        ('[[removed]]\nclass = "drive"\nmodel = "x"\n', "removed[1].model: no such key"),
        ('[[declined]]\nwhat = "x"\n', "declined[1].reason: missing"),
        ('[[declined]]\nreason = "x"\n', "declined[1].what: missing"),
        ('[[declined]]\nclass = "screw"\nwhat = "x"\nreason = "y"\n', "declined[1].class: 'screw'"),
        ('[[fitted]]\nclass = "drive"\npart_number = 7\n', "fitted[1].part_number: text is wanted"),
    ],
)
def test_a_mistake_is_named_with_its_place(text: str, wrong: str) -> None:
    assert wrong in mistakes(text)
