"""EDIDs against worked values, built ones, damaged ones, and any bytes."""

import json
from dataclasses import replace
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from closeout.decode.edid import Edid, decode_edid
from closeout.decode.edid_description import describe_edid
from closeout.decode.edid_descriptor import (
    BrokenTiming,
    LimitsDescriptor,
    OtherDescriptor,
    TextDescriptor,
    decode_descriptor,
)
from closeout.decode.edid_given import NotGiven
from closeout.decode.edid_timing import DetailedTiming, Mode, decode_standard_timings
from closeout.decode.failure import DecodeError
from strategies.edid import EdidPlan, TimingPlan, build_edid, damaged_edids, edid_plans

FULL_HD = bytes.fromhex(
    "00ffffffffffff0031d8000000000000051601036d321c78ea5ec0a4594a9825"
    "205054000000d1c00101010101010101010101010101023a801871382d40582c"
    "4500f4191100001e000000ff004c696e75782023300a20202020000000fd003b"
    "3d42440f000a202020202020000000fc004c696e7578204648440a2020200005"
)
"""The kernel's built-in 1920x1080 sample (drivers/gpu/drm/drm_edid_load.c)."""

XGA = bytes.fromhex(
    "00ffffffffffff0031d8000000000000051601036d231a78ea5ec0a4594a9825"
    "2050540008006140010101010101010101010101010164190040410026300890"
    "3600630a11000018000000ff004c696e75782023300a20202020000000fd003b"
    "3d2f3107000a202020202020000000fc004c696e7578205847410a2020200055"
)
"""The kernel's built-in 1024x768 sample (drivers/gpu/drm/drm_edid_load.c)."""

NOTEBOOK = bytes.fromhex(
    "00ffffffffffff0004433412010000000c210104a51f117802ee91a3544c9926"
    "0f5054000000010101010101010101010101010101011a3680a070381f403020"
    "350035ae1000001a000000100000000000000000000000000000000000fe0050"
    "414e454c4d414b45520a2020000000fe00503134304648442d30310a202000e5"
)
"""Made up in the style of notebook panels and read by edid-decode: no name, two free texts."""


def test_kernel_sample_full_hd() -> None:
    edid = decode_edid(FULL_HD)
    timing = edid.preferred
    assert isinstance(timing, DetailedTiming)
    assert edid.version == (1, 3)
    assert (edid.maker.letters, edid.maker.week, edid.maker.year) == ("LNX", 5, 2012)
    assert isinstance(edid.maker.serial, NotGiven)
    assert not edid.screen.digital
    assert isinstance(edid.screen.bits_per_colour, NotGiven)
    assert isinstance(edid.screen.interface, NotGiven)
    assert edid.names == ("Linux FHD",)
    assert edid.serial_texts == ("Linux #0",)
    assert (timing.width, timing.height, timing.clock_hz) == (1920, 1080, 148_500_000)
    assert (timing.horizontal.total, timing.vertical.total) == (2200, 1125)
    assert timing.refresh_millihertz == 60_000
    assert timing.size_millimetres == (500, 281)
    assert edid.standard == (Mode(width=1920, height=1080, hertz=60),)
    assert LimitsDescriptor(
        vertical_hertz=(59, 61), horizontal_kilohertz=(66, 68), clock_megahertz=150
    ) in set(edid.descriptors)
    assert edid.is_sound
    assert edid.blocks[0].checksum == 0x05


def test_kernel_sample_xga() -> None:
    edid = decode_edid(XGA)
    timing = edid.preferred
    assert isinstance(timing, DetailedTiming)
    assert edid.names == ("Linux XGA",)
    assert (timing.width, timing.height, timing.clock_hz) == (1024, 768, 65_000_000)
    assert timing.refresh_millihertz == 60_004
    assert timing.size_millimetres == (355, 266)
    assert edid.established == (Mode(width=1024, height=768, hertz=60),)
    assert edid.blocks[0].checksum == 0x55


def test_notebook_panel() -> None:
    edid = decode_edid(NOTEBOOK)
    timing = edid.preferred
    assert isinstance(timing, DetailedTiming)
    assert edid.version == (1, 4)
    maker = edid.maker
    assert (maker.letters, maker.product, maker.serial) == ("ABC", 0x1234, 1)
    assert (maker.week, maker.year, maker.is_model_year) == (12, 2023, False)
    screen = edid.screen
    assert (screen.digital, screen.bits_per_colour, screen.interface) == (True, 8, "DisplayPort")
    assert screen.size_centimetres == (31, 17)
    assert screen.gamma_hundredths == 220
    assert screen.native_flag
    assert edid.chromaticity.red == (0x28F, 338)
    assert (timing.horizontal.total, timing.vertical.total) == (2080, 1111)
    # 138 500 000 / (1920 + 160) / (1080 + 31)
    assert timing.refresh_hertz == Fraction(138_500_000, 2080 * 1111)
    assert timing.refresh_millihertz == 59_934
    assert timing.size_millimetres == (309, 174)
    assert (edid.names, edid.free_texts) == ((), ("PANELMAKER", "P140FHD-01"))
    assert edid.is_whole
    assert edid.is_sound
    assert edid.blocks[0].checksum == 0xE5


@pytest.mark.parametrize(
    ("raw", "offset"),
    [
        (b"", 0),
        (NOTEBOOK[:127], 127),
        (bytes(128), 1),
        (b"\xff" * 256, 0),
        (NOTEBOOK[:7] + b"\x01" + NOTEBOOK[8:], 7),
    ],
)
def test_what_is_no_edid_says_where(raw: bytes, offset: int) -> None:
    with pytest.raises(DecodeError) as raised:
        decode_edid(raw)
    assert raised.value.offset == offset


def built(**changes: object) -> Edid:
    return decode_edid(build_edid(replace(EdidPlan(), **changes)))


@pytest.mark.parametrize(
    ("week", "given_week", "is_model_year"),
    [(1, 1, False), (54, 54, False), (239, 239, False), (0, None, False), (255, None, True)],
)
def test_weeks(week: int, given_week: int | None, *, is_model_year: bool) -> None:
    maker = built(week=week).maker
    assert maker.is_model_year is is_model_year
    assert isinstance(maker.week, NotGiven) if given_week is None else maker.week == given_week


@pytest.mark.parametrize(
    ("signal", "revision", "bits", "interface"),
    [
        (0xA5, 4, 8, "DisplayPort"),
        (0x91, 4, 6, "DVI"),
        (0xE4, 4, 16, "MDDI"),
        (0x80, 4, None, None),
        (0xFF, 4, None, None),
        (0xA5, 3, None, None),
        (0x25, 4, None, None),
    ],
)
def test_input(signal: int, revision: int, bits: int | None, interface: str | None) -> None:
    screen = built(signal=signal, revision=revision).screen
    assert screen.digital is bool(signal & 0x80)
    found = (screen.bits_per_colour, screen.interface)
    assert tuple(None if isinstance(part, NotGiven) else part for part in found) == (
        bits,
        interface,
    )


@pytest.mark.parametrize(
    ("size", "revision", "aspect"),
    [
        ((79, 0), 4, 178),  # 16:9 landscape, E-EDID 1.4 table 3.12
        ((61, 0), 4, 160),  # 16:10
        ((0, 61), 4, 62),  # 10:16 portrait
        ((79, 0), 3, None),
        ((0, 0), 4, None),
        ((31, 17), 4, None),
    ],
)
def test_aspect_in_place_of_the_size(
    size: tuple[int, int], revision: int, aspect: int | None
) -> None:
    screen = built(size_centimetres=size, revision=revision).screen
    found = screen.aspect_hundredths
    assert (None if isinstance(found, NotGiven) else found) == aspect
    assert isinstance(screen.size_centimetres, NotGiven) == (0 in size)


def test_gamma_left_to_an_extension() -> None:
    assert isinstance(built(gamma_hundredths=355).screen.gamma_hundredths, NotGiven)


def test_interlaced_timing_counts_fields() -> None:
    """CEA-861 format 5: 1920x1080 at 60 fields a second out of 562.5 lines each."""
    timing = TimingPlan(
        height=540, clock_hz=74_250_000, blank=(280, 22), front=(88, 2), interlaced=True
    )
    found = built(timings=(timing,)).preferred
    assert isinstance(found, DetailedTiming)
    assert (found.width, found.height) == (1920, 1080)
    assert found.refresh_hertz == 60


def test_aspects_of_standard_timings_by_revision() -> None:
    raw = bytes(
        [0xD1, 0x00, 0x61, 0x40, 0x81, 0x80, 0xD1, 0xC0, 0x01, 0x01, 0x20, 0x20, 0x00, 0x00]
    )
    later = (Mode(width=1920, height=1200, hertz=60), Mode(width=1024, height=768, hertz=60))
    assert decode_standard_timings(raw, 3)[:2] == later
    assert decode_standard_timings(raw, 2)[0] == Mode(width=1920, height=1920, hertz=60)
    assert [mode.height for mode in decode_standard_timings(raw, 4)] == [1200, 768, 1024, 1080]


@pytest.mark.parametrize(
    ("offsets", "revision", "vertical", "horizontal"),
    [
        (0x00, 4, (48, 144), (30, 78)),
        (0x02, 4, (48, 399), (30, 78)),
        (0x0B, 4, (303, 399), (30, 333)),
        (0x0B, 3, (48, 144), (30, 78)),
    ],
)
def test_limits_with_offsets(
    offsets: int, revision: int, vertical: tuple[int, int], horizontal: tuple[int, int]
) -> None:
    raw = bytes([0, 0, 0, 0xFD, offsets, 48, 144, 30, 78, 27]) + bytes(8)
    assert decode_descriptor(raw, revision) == LimitsDescriptor(
        vertical_hertz=vertical, horizontal_kilohertz=horizontal, clock_megahertz=270
    )


@pytest.mark.parametrize(
    ("characters", "text", "further"),
    [
        (b"NORWELL\n     ", "NORWELL", ()),
        (b"P140FHD-01.23", "P140FHD-01.23", ()),
        (b"PADDED       ", "PADDED       ", ()),
        (b"X0KFK\x80NT15N41", "X0KFK", ("NT15N41",)),
        (b"A\0\0\0\0\0\0\0\0\0\0\0\0", "A", ()),
        (b"\x00B140-01\n    ", "", ("B140-01",)),
        (b"\x1e-7>Zw\xa3\xff\x02\x01\n  ", "", ("-7>Zw",)),
        (b"\n            ", "", ()),
        (b"AB\nCDEFGH    ", "AB", ()),
    ],
)
def test_texts(characters: bytes, text: str, further: tuple[str, ...]) -> None:
    raw = bytes([0, 0, 0, 0xFE, 0]) + characters
    assert decode_descriptor(raw, 4) == TextDescriptor(tag=0xFE, text=text, further=further)


@pytest.mark.parametrize(
    ("start", "meaning"),
    [
        ((0, 0, 0, 0x00, 0, 0), "empty"),
        ((0, 0, 0, 0x00, 0, 1), "maker's own"),
        ((0, 0, 0, 0x0F, 0, 0), "maker's own"),
        ((0, 0, 0, 0x10, 0, 0), "dummy"),
        ((0, 0, 0, 0x11, 0, 0), "reserved"),
        ((0, 0, 0, 0xF7, 0, 0), "established timings III"),
    ],
)
def test_other_descriptors(start: tuple[int, ...], meaning: str) -> None:
    raw = bytes(start).ljust(18, b"\0")
    assert decode_descriptor(raw, 4) == OtherDescriptor(tag=start[3], meaning=meaning)


@pytest.mark.parametrize(
    "raw",
    [
        bytes.fromhex("a60000fe00503134302d30310a2020202020"),  # a text that slipped, as seen
        bytes.fromhex("e70380a070381f403020350035ae1000001a"),  # 9.99 MHz
        bytes.fromhex("1a3600a000381f403020350035ae1000001a"),  # no pixel across
        bytes.fromhex("1a3680a070001f003020350035ae1000001a"),  # no line down
    ],
)
def test_what_no_display_could_show_is_no_timing(raw: bytes) -> None:
    clock_hz = int.from_bytes(raw[:2], "little") * 10_000
    assert decode_descriptor(raw, 4) == BrokenTiming(clock_hz=clock_hz)


def test_without_a_timing_nothing_is_preferred() -> None:
    description = describe_edid(build_edid(EdidPlan(timings=())))
    wanted = ("native", "refresh", "pixclk_mhz", "dtd1_mm", "interlaced")
    assert [description[name] for name in wanted] == [None, None, None, None, False]


def test_length_against_extensions_is_a_fact() -> None:
    whole = build_edid(EdidPlan(extensions=(b"\x02\x03", b"\x70\x20")))
    assert decode_edid(whole).is_whole
    assert [block.tag for block in decode_edid(whole).blocks] == [0x00, 0x02, 0x70]
    for cut in (128, 256, 383):
        assert not decode_edid(whole[:cut]).is_whole
        assert decode_edid(whole[:cut]).extension_count == 2
    assert not decode_edid(whole + whole[128:256]).is_whole


@given(edid_plans())
def test_built_edids_come_back(plan: EdidPlan) -> None:
    edid = decode_edid(build_edid(plan))
    assert edid.version == (1, plan.revision)
    assert edid.maker.letters == plan.letters
    assert edid.maker.product == plan.product
    assert edid.maker.serial == (plan.serial or NotGiven(reason="the serial number is zero"))
    assert edid.maker.year == plan.year
    assert edid.screen.digital is bool(plan.signal & 0x80)
    assert edid.screen.features == plan.features
    assert len(edid.timings) == len(plan.timings)
    for found, timing in zip(edid.timings, plan.timings, strict=True):
        assert_timing_is(found, timing)
    assert edid.names == plan.names
    assert edid.free_texts == plan.texts
    assert edid.serial_texts == plan.serial_texts
    assert edid.is_whole
    assert edid.is_sound


def assert_timing_is(found: DetailedTiming, timing: TimingPlan) -> None:
    assert found.clock_hz == timing.clock_hz
    assert found.interlaced is timing.interlaced
    across, down = found.horizontal, found.vertical
    assert (across.active, down.active) == (timing.width, timing.height)
    assert (across.blank, down.blank) == timing.blank
    assert (across.front, down.front) == timing.front
    assert (across.sync, down.sync) == timing.sync
    assert (across.border, down.border) == timing.border
    assert (across.millimetres, down.millimetres) == timing.millimetres


@given(plan=edid_plans(), place=st.integers(8, 127), change=st.integers(1, 255))
def test_any_changed_byte_breaks_the_sum_of_its_block(
    plan: EdidPlan, place: int, change: int
) -> None:
    damaged = bytearray(build_edid(plan))
    damaged[place] = (damaged[place] + change) % 256
    blocks = decode_edid(bytes(damaged)).blocks
    assert [block.checksum_good for block in blocks] == [False] + [True] * (len(blocks) - 1)


@given(st.one_of(damaged_edids(), st.binary(max_size=300)))
def test_any_bytes_give_an_edid_or_an_offset(raw: bytes) -> None:
    offset = offset_of_failure(raw)
    if offset is None:
        json.dumps(describe_edid(raw), allow_nan=False)
    else:
        assert 0 <= offset <= len(raw)


def offset_of_failure(raw: bytes) -> int | None:
    try:
        decode_edid(raw)
    except DecodeError as failure:
        return failure.offset
    return None


@given(edid_plans(), st.binary(max_size=128))
def test_nothing_behind_the_first_block_changes_its_fields(plan: EdidPlan, behind: bytes) -> None:
    block = build_edid(plan)[:128]
    alone, longer = decode_edid(block), decode_edid(block + behind)
    assert replace(longer, blocks=alone.blocks, length=alone.length) == alone
