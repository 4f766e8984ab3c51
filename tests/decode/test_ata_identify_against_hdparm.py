"""Answers to IDENTIFY DEVICE as hdparm understands them, beside ours, over drawn drives."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from closeout.decode.ata_identify import decode_ata_identify
from oracles.hdparm import identify, reason_to_skip
from strategies.drive_blocks import identify_device

printable = st.characters(min_codepoint=0x21, max_codepoint=0x7E)
PLAIN = {0: 0x0040, 49: 0x0200, 82: 0x0003, 86: 0x0400}
"""A drive with LBA, the security feature and 48-bit addresses, where word 83 says so too."""


@st.composite
def drives(draw: st.DrawFn) -> bytes:
    sector = draw(st.sampled_from([{}, {106: 0x6003}, {106: 0x5000, 117: 2048, 118: 0}]))
    wide = draw(st.booleans())
    security = draw(st.integers(0, 0x3F).map(lambda bits: bits | 1))
    level = draw(st.sampled_from([0, 0x0100])) if security & 2 else 0
    return identify_device(
        draw(st.text(printable, min_size=1, max_size=40)),
        draw(st.text(printable, min_size=1, max_size=20)),
        draw(st.text(printable, min_size=1, max_size=8)),
        words={
            **PLAIN,
            **sector,
            83: 0x4400 if wide else 0x4000,
            86: 0x0400 if wide else 0,
            60: draw(st.integers(1, 0xFFFF)),
            61: draw(st.integers(0, 0x0FFF)),
            100: draw(st.integers(1, 0xFFFF)) if wide else 0,
            101: draw(st.integers(0x1000, 0xFFFF)) if wide else 0,
            128: security | level,
            217: draw(st.sampled_from([0, 1, 5400, 7200])),
        },
    )


@pytest.mark.oracle
@settings(max_examples=60, deadline=None)
@given(drives(), st.booleans())
def test_hdparm_reads_the_same(raw: bytes, damaged: bool) -> None:  # noqa: FBT001 - drawn
    if reason := reason_to_skip():
        pytest.skip(reason)
    if damaged:
        raw = raw[:-1] + bytes([raw[-1] ^ 0x10])
    ours, theirs = decode_ata_identify(raw), identify(raw)
    for name in type(theirs).__slots__:
        assert getattr(ours, name) == getattr(theirs, name), name
