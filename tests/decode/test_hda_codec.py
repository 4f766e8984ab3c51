"""Codecs as the kernel writes them, and the pins that firmware describes."""

from contextlib import suppress

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from closeout.decode.failure import DecodeError
from closeout.decode.hda_codec import decode_codec, split_id
from closeout.decode.hda_pin import DEVICES, HdaPin, decode_pin
from strategies.sound import (
    CONNECTIVITY,
    HDMI,
    HDMI_PINCAP,
    HEADPHONE,
    MICROPHONE,
    SPEAKER,
    UNUSED,
    CodecPlan,
    build_codec,
)

words = st.integers(min_value=0, max_value=0xFFFF_FFFF)
names = st.text(st.characters(min_codepoint=0x21, max_codepoint=0x7E), min_size=1, max_size=40)
plans = st.builds(
    CodecPlan,
    name=names,
    vendor=words,
    subsystem=words,
    revision=words,
    pins=st.lists(st.tuples(words, words), max_size=6).map(tuple),
)


@given(plans)
def test_what_is_built_is_read_back(plan: CodecPlan) -> None:
    codec = decode_codec(build_codec(plan))
    assert codec.name == plan.name
    assert codec.vendor_id == f"{plan.vendor:08x}"
    assert codec.subsystem_id == f"{plan.subsystem:08x}"
    assert codec.revision_id == f"{plan.revision:08x}"
    assert codec.pins == tuple(decode_pin(*pin) for pin in plan.pins)


@pytest.mark.parametrize(
    ("default", "capabilities", "pin"),
    [
        (SPEAKER, 0, HdaPin(device="speaker", connected=True, inside=True, display=False)),
        (MICROPHONE, 0, HdaPin(device="microphone", connected=True, inside=True, display=False)),
        (HEADPHONE, 0, HdaPin(device="headphone", connected=True, inside=False, display=False)),
        (UNUSED, 0, HdaPin(device="speaker", connected=False, inside=False, display=False)),
        (
            HDMI,
            HDMI_PINCAP,
            HdaPin(device="other digital out", connected=True, inside=True, display=True),
        ),
    ],
)
def test_pins_as_firmware_describes_them(default: int, capabilities: int, pin: HdaPin) -> None:
    """Field positions: High Definition Audio 1.0a, section 7.3.3.31; 411111f0 is the kernel's."""
    assert decode_pin(default, capabilities) == pin


@given(words, words)
def test_each_field_of_a_pin_is_its_own(default: int, capabilities: int) -> None:
    pin = decode_pin(default, capabilities)
    digits = f"{default:08x}"
    assert pin.device == DEVICES[int(digits[2], 16)]
    assert pin.connected == (CONNECTIVITY[default >> 30] != "N/A")
    at_inside = digits[0] in "159d"
    assert pin.inside == (at_inside or CONNECTIVITY[default >> 30] in ("Fixed", "Both"))
    assert pin.display == bool(capabilities & 0x01000080)


@pytest.mark.parametrize("value", [-1, 1 << 32])
def test_a_number_that_does_not_fit_is_refused(value: int) -> None:
    with pytest.raises(DecodeError):
        decode_pin(value)
    with pytest.raises(DecodeError):
        decode_pin(0, value)


@given(st.binary(max_size=400))
@example(b"Codec: x\nVendor Id: 0x1\nSubsystem Id: 0x1\nRevision Id: 0x")
def test_any_bytes_give_a_codec_or_one_error(raw: bytes) -> None:
    with suppress(DecodeError):
        decode_codec(raw)


@given(plans, st.data())
def test_a_text_cut_short_gives_a_codec_or_one_error(plan: CodecPlan, data: st.DataObject) -> None:
    whole = build_codec(plan)
    cut = data.draw(st.integers(min_value=0, max_value=len(whole)))
    with suppress(DecodeError):
        assert len(decode_codec(whole[:cut]).pins) <= len(plan.pins)


def test_a_pin_value_of_too_many_digits_is_placed() -> None:
    raw = build_codec(CodecPlan(pins=((SPEAKER, 0x14),)))
    broken = raw.replace(b"0x90170110", b"0x990170110")
    with pytest.raises(DecodeError, match="32 bits") as caught:
        decode_codec(broken)
    assert caught.value.offset == raw.index(b"Node 0x03")


def test_a_pin_without_capabilities_is_none_of_a_screen() -> None:
    raw = build_codec(CodecPlan(pins=((HDMI, HDMI_PINCAP),)))
    lines = [line for line in raw.split(b"\n") if b"Pincap" not in line]
    assert [pin.display for pin in decode_codec(b"\n".join(lines)).pins] == [False]


def test_a_codec_of_no_nodes_has_no_pins() -> None:
    assert decode_codec(build_codec(CodecPlan())).pins == ()


def test_ids_are_split_in_the_middle() -> None:
    assert split_id("fe150256") == "fe15:0256"
