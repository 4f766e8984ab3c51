"""Report descriptors: a worked one, built ones, and any bytes."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from closeout.decode.failure import DecodeError
from closeout.decode.report_descriptor import find_collections, name_purposes
from notebook.in_guest import touchpad_reports

BOOT_KEYBOARD = bytes.fromhex(
    "05010906a101050719e029e71500250175019508810295017508810395057501"
    "0508190129059102950175039103950675081500256505071900296581 00c0".replace(" ", "")
)
"""The keyboard of the boot protocol, HID 1.11, appendix E.6."""


def application(page: int, usage: int, *inside: bytes) -> bytes:
    head = bytes([0x06]) + page.to_bytes(2, "little") + bytes([0x0A]) + usage.to_bytes(2, "little")
    return head + b"\xa1\x01" + b"".join(inside) + b"\xc0"


def test_keyboard_of_the_standard() -> None:
    assert find_collections(BOOT_KEYBOARD) == (0x0001_0006,)
    assert name_purposes(find_collections(BOOT_KEYBOARD)) == ("keyboard",)


def test_touchpad_that_is_a_mouse_at_first() -> None:
    found = find_collections(touchpad_reports.report_descriptor())
    assert found == (0x000D_0005, 0x000D_000E, 0x0001_0002)
    assert name_purposes(found) == ("touchpad", "mouse")


def test_page_is_kept_and_given_back() -> None:
    pushed = b"\x05\x0d\xa4\x05\x01\xb4\x09\x04\xa1\x01\xc0"
    assert find_collections(pushed) == (0x000D_0004,)


def test_usage_with_a_page_of_its_own_and_none_at_all() -> None:
    long_usage = b"\x05\x01\x0b\x05\x00\x0d\x00\xa1\x01\xc0"
    assert find_collections(long_usage) == (0x000D_0005,)
    assert find_collections(b"\xa1\x01\xc0") == (0,)


def test_long_item_is_passed_over() -> None:
    assert find_collections(b"\xfe\x02\x10\xa1\x01" + BOOT_KEYBOARD) == (0x0001_0006,)


@pytest.mark.parametrize(
    ("raw", "message"),
    [
        (b"\x05", "over the end"),
        (b"\xfe", "over the end"),
        (b"\xfe\x05\x00\x01", "over the end"),
        (b"\xa1\x01", "not closed"),
        (b"\xc0", "not opened"),
        (b"\xb4", "not pushed"),
        (b"\xa4" * 65, "more than 64"),
    ],
)
def test_what_is_no_descriptor(raw: bytes, message: str) -> None:
    with pytest.raises(DecodeError, match=message):
        find_collections(raw)


@given(st.lists(st.tuples(st.integers(0, 0xFFFF), st.integers(0, 0xFFFF)), max_size=5))
def test_collections_come_back_in_order(usages: list[tuple[int, int]]) -> None:
    nested = application(1, 1)
    raw = b"".join(application(page, usage, nested) for page, usage in usages)
    assert find_collections(raw) == tuple(page << 16 | usage for page, usage in usages)


@given(st.binary(max_size=200))
def test_any_bytes_give_collections_or_an_error(raw: bytes) -> None:
    offset = offset_of_failure(raw)
    if offset is None:
        assert all(0 <= usage < 1 << 32 for usage in find_collections(raw))
    else:
        assert 0 <= offset <= len(raw)


def offset_of_failure(raw: bytes) -> int | None:
    try:
        find_collections(raw)
    except DecodeError as failure:
        return failure.offset
    return None
