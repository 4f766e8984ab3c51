"""SMART attributes, thresholds and status: built from the layout, damaged, and any bytes."""

from contextlib import suppress

import pytest
from hypothesis import given
from hypothesis import strategies as st

from closeout.decode.ata_smart import (
    SmartAttribute,
    decode_ata_smart,
    decode_ata_status,
    decode_ata_thresholds,
    is_at_threshold,
)
from closeout.decode.drive_description import describe_ata_smart
from closeout.decode.failure import DecodeError
from closeout.decode.opal_status import FLAGS, decode_opal_status
from strategies.drive_blocks import smart_block, threshold_block

entries = st.tuples(
    st.integers(1, 255),
    st.integers(0, 255),
    st.integers(0, 255),
    st.integers(0, 255),
    st.integers(0, (1 << 48) - 1),
)


@given(st.lists(entries, max_size=30, unique_by=lambda entry: entry[0]))
def test_attributes_are_read_back(built: list[tuple[int, int, int, int, int]]) -> None:
    found = decode_ata_smart(smart_block(*built)).attributes
    assert list(found) == [entry[0] for entry in built]
    for number, flags, value, worst, raw in built:
        assert found[number] == SmartAttribute(
            number=number,
            value=value if 0 < value < 254 else None,
            worst=worst if 0 < worst < 254 else None,
            raw=raw,
            pre_failure=bool(flags & 1),
        )


@given(st.dictionaries(st.integers(1, 255), st.integers(0, 255), max_size=30))
def test_thresholds_are_read_back(built: dict[int, int]) -> None:
    found = decode_ata_thresholds(threshold_block(built))
    assert found == {number: least for number, least in built.items() if least != 0xFE}


@given(st.integers(0, 511), st.integers(1, 255))
def test_a_changed_byte_is_noticed(at: int, change: int) -> None:
    for block, decode in (
        (smart_block((5, 3, 100, 100, 0)), decode_ata_smart),
        (threshold_block({5: 36}), decode_ata_thresholds),
    ):
        damaged = bytearray(block)
        damaged[at] ^= change
        with pytest.raises(DecodeError, match="sum of all bytes"):
            decode(bytes(damaged))


@pytest.mark.parametrize(
    ("value", "threshold", "reached"),
    [
        (100, 36, False),
        (37, 36, False),
        (36, 36, True),
        (1, 36, True),
        (1, 0, False),
        (253, 255, True),
        (None, 36, False),
    ],
)
def test_at_its_threshold(value: int | None, threshold: int, *, reached: bool) -> None:
    attribute = SmartAttribute(number=5, value=value, worst=None, raw=0, pre_failure=True)
    assert is_at_threshold(attribute, threshold) is reached


@given(st.binary(max_size=3))
def test_the_status_is_one_of_two(raw: bytes) -> None:
    with suppress(DecodeError):
        assert decode_ata_status(raw) == (raw == b"\xf4\x2c")
        assert raw in {b"\x4f\xc2", b"\xf4\x2c"}


def test_the_status_of_a_good_drive_and_of_a_failing_one() -> None:
    assert decode_ata_status(b"\x4f\xc2") is False
    assert decode_ata_status(b"\xf4\x2c") is True
    with pytest.raises(DecodeError, match="neither"):
        decode_ata_status(b"\0\0")


def test_blocks_as_a_drive_and_smartctl_told_them() -> None:
    """An emulated drive's attributes as smartctl 7.4 printed them beside."""
    smart = smart_block((5, 3, 100, 100, 0), (9, 3, 100, 100, 1), (190, 3, 69, 69, 0x1F1F_0000_1F))
    thresholds = threshold_block({5: 36, 9: 0, 190: 50})
    told = describe_ata_smart(smart + thresholds)
    found = told["attributes"]
    assert isinstance(found, list)
    assert [(one["number"], one["value"], one["threshold"]) for one in found] == [
        (5, 100, 36),
        (9, 100, 0),
        (190, 69, 50),
    ]
    assert found[2]["raw"] & 0xFF == 31
    assert [one["at_threshold"] for one in found] == [False, False, False]


def test_one_block_has_no_thresholds() -> None:
    (found,) = describe_ata_smart(smart_block((5, 3, 100, 100, 0)))["attributes"]  # type: ignore[misc]
    assert (found["threshold"], found["at_threshold"]) == (None, None)


def test_a_second_block_that_is_damaged_is_told_with_its_place() -> None:
    with pytest.raises(DecodeError) as caught:
        describe_ata_smart(smart_block() + bytes(512))
    assert caught.value.offset >= 512
    with pytest.raises(DecodeError, match="or two"):
        describe_ata_smart(bytes(700))


@given(st.binary(min_size=512, max_size=512) | st.binary(max_size=600))
def test_any_bytes_give_an_object_or_one_error(raw: bytes) -> None:
    for decode in (decode_ata_smart, decode_ata_thresholds, describe_ata_smart, decode_opal_status):
        with suppress(DecodeError):
            decode(raw)


@pytest.mark.parametrize("bit", range(len(FLAGS)))
def test_the_flags_of_self_encryption(bit: int) -> None:
    raw = (1 << bit).to_bytes(4, "little") + bytes(4)
    assert decode_opal_status(raw) == (FLAGS[bit],)
    assert decode_opal_status(bytes(8)) == ()
    with pytest.raises(DecodeError):
        decode_opal_status(raw[:7])
