"""Orders that are made of scans."""

from hashlib import sha256

from hypothesis import given
from hypothesis import strategies as st

from closeout.expect.mistake import Mistakes
from closeout.expect.order_file import parse_work_order
from closeout.expect.scanned_order import (
    is_order_id,
    make_scanned_order,
    mark_scanned,
    order_text,
)
from closeout.expect.work_order import WorkOrder
from closeout.model.expectation import Equals, Weight

SERIALS = st.text(max_size=40).map(str.strip).filter(lambda text: text != "" and text.isprintable())


def made(order: str, serial: str) -> WorkOrder:
    outcome = make_scanned_order(order, serial)
    assert isinstance(outcome, WorkOrder), outcome.show()
    return outcome


@given(SERIALS)
def test_the_serial_of_the_label_is_a_must(serial: str) -> None:
    order = made("WO-7", serial)
    (demand,) = order.expectations
    assert (demand.rule, demand.weight, demand.origin) == (
        "system.serial",
        Weight.MUST,
        "scanned label",
    )
    assert demand.demand == Equals(value=serial)
    assert (order.order, order.source.revision) == ("WO-7", "scanned")
    assert order.source.digest == sha256(order_text("WO-7", serial)).hexdigest()


def test_without_a_label_nothing_is_demanded() -> None:
    order = made("WO-7", "")
    assert (order.expectations, dict(order.unit)) == ((), {})


@given(SERIALS)
def test_the_copy_is_the_same_order_again(serial: str) -> None:
    again = parse_work_order("work-order.toml", order_text("WO-7", serial))
    assert isinstance(again, WorkOrder)
    assert again.source.revision == "format 1"
    assert mark_scanned(again) == made("WO-7", serial)


def test_what_no_order_can_be_called_is_a_mistake() -> None:
    assert isinstance(make_scanned_order("no-order", "S1"), Mistakes)
    assert [is_order_id(text) for text in ("WO-7", "../7", "", "a b", "ä")] == [
        *(True, False, False, False, False),
    ]
