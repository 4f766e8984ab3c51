"""Netlink messages and attributes: built from the layouts, cut short, and any bytes."""

from contextlib import suppress

import pytest
from hypothesis import given
from hypothesis import strategies as st

from closeout.decode.failure import DecodeError
from closeout.decode.netlink import (
    Attribute,
    Message,
    by_kind,
    decode_attributes,
    decode_generic,
    decode_messages,
    decode_result,
    encode_attributes,
    encode_generic,
    encode_message,
)
from strategies.netlink import attribute, generic, message, number

attributes = st.lists(
    st.builds(Attribute, kind=st.integers(0, 0x3FFF), value=st.binary(max_size=20)), max_size=5
)
messages = st.lists(
    st.builds(
        Message,
        kind=st.integers(0, 0xFFFF),
        flags=st.integers(0, 0xFFFF),
        sequence=st.integers(0, 2**32 - 1),
        body=st.binary(max_size=30),
    ),
    max_size=4,
)


def test_the_question_for_a_family_is_as_the_kernel_wants_it() -> None:
    """CTRL_CMD_GETFAMILY for "nl80211", byte by byte as the headers lay it out."""
    named = [Attribute(kind=2, value=b"nl80211\0")]
    asked = Message(kind=0x10, flags=1, sequence=1, body=encode_generic(3, named))
    assert encode_message(asked) == (
        b"\x20\0\0\0\x10\0\x01\0\x01\0\0\0\0\0\0\0"  # 32 bytes, nlctrl, request, 1
        b"\x03\x01\0\0"  # GETFAMILY, version 1
        b"\x0c\0\x02\0nl80211\0"  # 12 bytes, FAMILY_NAME
    )


@given(messages)
def test_messages_are_read_back(told: list[Message]) -> None:
    raw = b"".join(encode_message(one) for one in told)
    assert decode_messages(raw) == tuple(told)
    again = [message(one.kind, one.body, sequence=one.sequence, flags=one.flags) for one in told]
    assert b"".join(again) == raw


@given(attributes)
def test_attributes_are_read_back(told: list[Attribute]) -> None:
    raw = encode_attributes(told)
    assert decode_attributes(raw) == tuple(told)
    assert b"".join(attribute(one.kind, one.value) for one in told) == raw


def test_the_bits_for_nested_and_network_order_are_no_part_of_the_kind() -> None:
    assert decode_attributes(attribute(0xC000 | 34, b"")) == (Attribute(kind=34, value=b""),)


def test_the_last_of_a_kind_counts() -> None:
    body = generic(1, number(7, 1) + number(7, 2))
    assert decode_generic(body) == by_kind([Attribute(kind=7, value=b"\2\0\0\0")])


@pytest.mark.parametrize(
    ("body", "number"), [(b"\xed\xff\xff\xff", 19), (b"\0\0\0\0", 0), (b"\5\0\0\0", 0), (b"", 0)]
)
def test_a_result_is_an_errno_or_nothing(body: bytes, number: int) -> None:
    assert decode_result(Message(kind=2, flags=0, sequence=0, body=body)) == number


@pytest.mark.parametrize("raw", [b"\1", b"\3\0\0\0", b"\x09\0\1\0\0\0\0\0"])
def test_an_attribute_that_is_cut_or_too_long_is_refused(raw: bytes) -> None:
    with pytest.raises(DecodeError, match="netlink attribute at byte 0"):
        decode_attributes(raw)


@given(st.data())
def test_a_message_cut_short_is_noticed(data: st.DataObject) -> None:
    whole = message(16, generic(3, number(1, 7)))
    cut = data.draw(st.integers(1, len(whole) - 1))
    with pytest.raises(DecodeError):
        decode_messages(whole[:cut])


def test_a_family_message_without_a_header_is_refused() -> None:
    with pytest.raises(DecodeError, match="generic netlink header"):
        decode_generic(b"\1\1")


@given(st.binary(max_size=120))
def test_any_bytes_give_objects_or_one_error(raw: bytes) -> None:
    for decode in (decode_messages, decode_attributes, decode_generic):
        with suppress(DecodeError):
            decode(raw)
