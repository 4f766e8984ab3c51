"""EDID extensions: built ones, worked values, damaged ones, and any bytes."""

from typing import Any, cast

import pytest
from hypothesis import given
from hypothesis import strategies as st

from closeout.decode.edid import Edid, decode_edid
from closeout.decode.edid_cta import Cta, CtaBlock, decode_cta, video_code
from closeout.decode.edid_description import describe_edid
from closeout.decode.edid_displayid import DisplayId, MarkedTiming, decode_displayid
from closeout.decode.edid_extension import (
    BlockMap,
    OtherExtension,
    decode_extension,
    sizes_of,
    timings_of,
)
from closeout.decode.edid_given import NotGiven
from closeout.decode.edid_timing import DetailedTiming
from closeout.decode.failure import DecodeError
from strategies.edid import EdidPlan, TimingPlan, build_edid, with_sum
from strategies.edid_extensions import (
    CtaPlan,
    DisplayIdPlan,
    MarkedPlan,
    build_cta,
    build_displayid,
    build_marked,
    cta_plans,
    displayid_plans,
    marked_plans,
)

BLOCK = 128
WIDE = TimingPlan(
    width=2560,
    height=1600,
    clock_hz=671_340_000,
    blank=(160, 114),
    front=(48, 3),
    sync=(32, 6),
    millimetres=(0, 0),
)
"""144.000103 Hz, as edid-decode computes of these numbers."""
SLOW = TimingPlan(
    width=2560, height=1600, clock_hz=268_500_000, blank=(160, 46), millimetres=(0, 0)
)


def type_7(*plans: MarkedPlan) -> tuple[int, int, bytes]:
    return (0x22, 0, b"".join(build_marked(plan, 1_000) for plan in plans))


def type_1(*plans: MarkedPlan) -> tuple[int, int, bytes]:
    return (0x03, 0, b"".join(build_marked(plan, 10_000) for plan in plans))


def whole(extension: bytes) -> bytes:
    return with_sum(extension.ljust(BLOCK - 1, b"\0"))


def panel(*extensions: bytes, timings: tuple[TimingPlan, ...] = ()) -> Edid:
    return decode_edid(build_edid(EdidPlan(timings=timings, extensions=extensions)))


def native_of(edid: Edid) -> tuple[int, int, int] | None:
    native = edid.native
    if isinstance(native, NotGiven):
        return None
    return native.width, native.height, native.refresh_millihertz


def test_mode_that_an_extension_alone_gives_is_the_native_one() -> None:
    marked = MarkedPlan(timing=WIDE, preferred=True)
    section = type_7(MarkedPlan(timing=SLOW), marked)
    edid = panel(build_cta(CtaPlan()), build_displayid(DisplayIdPlan(sections=(section,))))
    assert isinstance(edid.preferred, NotGiven)
    assert native_of(edid) == (2560, 1600, 144_000)


def test_first_block_comes_before_extensions() -> None:
    section = type_7(MarkedPlan(timing=WIDE, preferred=True))
    edid = panel(build_displayid(DisplayIdPlan(sections=(section,))), timings=(TimingPlan(),))
    assert edid.native == edid.preferred
    assert native_of(edid) == (1920, 1080, 59_934)


def test_without_a_mark_the_first_timing_of_any_extension_counts() -> None:
    edid = panel(build_cta(CtaPlan(timings=(TimingPlan(), SLOW))))
    assert native_of(edid) == (1920, 1080, 59_934)
    assert native_of(panel(build_cta(CtaPlan()))) is None
    assert native_of(panel(b"\x40")) is None


def test_block_behind_those_that_are_counted_has_no_say() -> None:
    raw = build_edid(EdidPlan(timings=()))
    section = type_7(MarkedPlan(timing=WIDE, preferred=True))
    edid = decode_edid(raw + whole(build_displayid(DisplayIdPlan(sections=(section,)))))
    assert not edid.is_whole
    assert isinstance(edid.extensions[0], DisplayId)
    assert native_of(edid) is None


def test_missing_part_of_a_block_is_no_extension() -> None:
    raw = build_edid(EdidPlan(extensions=(build_cta(CtaPlan()),)))
    assert decode_edid(raw[:-1]).extensions == ()
    assert not decode_edid(raw[:-1]).is_whole


def test_block_map_and_unknown_extension() -> None:
    edid = panel(bytes([0xF0, 0x02, 0x70]), b"\x55")
    assert edid.extensions == (BlockMap(tags=(0x02, 0x70)), OtherExtension(tag=0x55))


def test_both_types_count_their_clock_in_other_steps() -> None:
    plan = MarkedPlan(timing=WIDE, preferred=True)
    for section in (type_1(plan), type_7(plan)):
        found = decode_displayid(whole(build_displayid(DisplayIdPlan(sections=(section,)))))
        assert [mark.timing.clock_hz for mark in found.timings] == [671_340_000]


def test_product_and_parameters_of_version_2() -> None:
    product = bytes.fromhex("3ce624") + b"\x8c\x07" + bytes(4) + bytes([0, 23, 6]) + b"134WQA"
    size = b"".join(n.to_bytes(2, "little") for n in (2880, 1800, 2560, 1600)) + bytes(21)
    sections = ((0x20, 0, product), (0x21, 0, size), (0x21, 0x80, size[:8]))
    found = decode_displayid(whole(build_displayid(DisplayIdPlan(sections=sections))))
    (told,) = found.products
    assert (told.maker, told.product, told.year, told.name) == ("3C-E6-24", 1932, 2023, "134WQA")
    assert isinstance(told.serial, NotGiven)
    assert isinstance(told.week, NotGiven)
    assert [each.size_tenths for each in found.parameters] == [(2880, 1800), (28800, 18000)]
    assert [each.pixels for each in found.parameters] == [(2560, 1600)] * 2


def test_product_and_parameters_of_version_1() -> None:
    product = b"QLV" + b"\x01\x00" + b"\x07\0\0\0" + bytes([0xFF, 0, 0])
    sections = ((0x00, 0, product), (0x01, 0x80, bytes(12)), (0x00, 1, b"short"), (0x01, 0, b""))
    plan = DisplayIdPlan(version=0x13, sections=sections)
    found = decode_displayid(whole(build_displayid(plan)))
    (told,) = found.products
    assert (told.maker, told.serial, told.year) == ("QLV", 7, 2000)
    assert isinstance(told.week, NotGiven)
    (size,) = found.parameters
    assert isinstance(size.size_tenths, NotGiven)
    assert isinstance(size.pixels, NotGiven)


def test_sizes_of_the_extensions_that_count() -> None:
    size = b"".join(n.to_bytes(2, "little") for n in (2880, 1800, 2560, 1600)) + bytes(21)
    sections = ((0x21, 0, size), (0x21, 0, bytes(29)))
    raw = build_edid(EdidPlan(extensions=(build_displayid(DisplayIdPlan(sections=sections)),)))
    assert decode_edid(raw).size_tenths == ((2880, 1800),)
    assert decode_edid(raw[:126] + b"\0" + raw[127:]).size_tenths == ()


def test_every_extension_is_described() -> None:
    size = b"".join(n.to_bytes(2, "little") for n in (2880, 1800, 2560, 1600)) + bytes(21)
    product = b"QLV" + bytes(8) + bytes([3]) + b"X14"
    sections = (
        *((0x20, 0, product), (0x21, 0, size), (0x21, 0, bytes(29))),
        type_7(MarkedPlan(timing=WIDE, preferred=True)),
    )
    edid = build_edid(
        EdidPlan(
            timings=(),
            extensions=(
                build_cta(CtaPlan(blocks=((7, b"\x05\x80\x00"),), timings=(TimingPlan(),))),
                build_displayid(DisplayIdPlan(sections=sections)),
                b"\xf0\x02\x70",
                b"\x55",
            ),
        )
    )
    told = describe_edid(edid)
    assert told["native"] is None
    assert told["native_anywhere"] == [2560, 1600]
    cta, displayid, block_map, other = cast("list[dict[str, Any]]", told["extensions"])
    assert (cta["kind"], cta["colours"], cta["fits"]) == ("CTA-861", ["BT2020RGB"], True)
    assert [timing["mode"] for timing in cta["timings"]] == [[1920, 1080]]
    assert displayid["products"] == [{"maker": "51-4C-56", "product": 0, "name": "X14"}]
    assert displayid["parameters"] == [
        {"tenths_of_mm": [2880, 1800], "pixels": [2560, 1600]},
        {"tenths_of_mm": None, "pixels": None},
    ]
    assert displayid["section_checksum_ok"] is True
    assert [mode["preferred"] for mode in displayid["timings"]] == [True]
    assert (block_map, other) == (
        {"kind": "block map", "tags": [2, 0x70]},
        {"kind": "other", "tag": 0x55},
    )
    plain = describe_edid(build_edid(EdidPlan(timings=())))
    assert (plain["native_anywhere"], plain["extensions"]) == (None, [])


def test_year_and_week_that_are_given_or_not() -> None:
    for week, year, told in ((12, 20, (12, 2020)), (0, 0, (None, None))):
        raw = b"QLV" + bytes(6) + bytes([week, year, 0])
        plan = DisplayIdPlan(sections=((0x20, 0, raw),))
        (product,) = decode_displayid(whole(build_displayid(plan))).products
        found = tuple(None if isinstance(n, NotGiven) else n for n in (product.week, product.year))
        assert found == told


def test_colours_transfers_and_video_codes() -> None:
    blocks = ((2, bytes([0x90, 4, 0, 255, 200])), (7, b"\x05\x80\x00"), (7, b"\x06\x05\x01"))
    found = decode_cta(whole(build_cta(CtaPlan(flags=0xF3, blocks=blocks))))
    assert found.video_codes == (16, 4, 200)
    assert found.colours == ("BT2020RGB",)
    assert found.transfers == ("SDR", "SMPTE ST2084")
    assert [block.name for block in found.blocks] == [
        "Video",
        "Colorimetry",
        "HDR Static Metadata",
    ]
    assert (found.underscan, found.basic_audio, found.ycbcr_444, found.ycbcr_422) == (True,) * 4
    assert (found.native_count, found.overrun) == (3, False)


def test_data_blocks_inside_displayid() -> None:
    plan = DisplayIdPlan(sections=((0x81, 0, b"\xe3\x05\x80\x00"), (0x99, 0, b"")))
    found = decode_displayid(whole(build_displayid(plan)))
    assert found.cta_blocks == (CtaBlock(tag=0x705, content=b"\x80\x00"),)
    assert [section.name for section in found.sections] == ["CTA-861", "unknown 0x99"]


def test_short_video_descriptors() -> None:
    """CTA-861-H, table 58: 129 to 192 are codes 1 to 64 marked as native."""
    shorts = (0, 1, 127, 128, 129, 192, 193, 253, 254, 255)
    assert list(map(video_code, shorts)) == [0, 1, 127, 0, 1, 64, 193, 253, 0, 0]


def test_parts_that_run_over_are_told() -> None:
    fits = build_cta(CtaPlan(blocks=((1, b"abc"), (4, b"abc"))))
    cut = whole(fits[:2] + bytes([fits[2] - 1]) + fits[3:])
    assert [block.content for block in decode_cta(cut).blocks] == [b"abc", b"ab"]
    assert decode_cta(cut).overrun
    for place in (1, 128, 255):
        assert decode_cta(whole(bytes([2, 3, place, 0]))).overrun
    assert decode_cta(whole(bytes([2, 3, 0, 0, 0x21]))).blocks == ()
    long = bytearray(whole(build_displayid(DisplayIdPlan(sections=((0x81, 0, b"abc"),)))))
    for place, length in ((2, 5), (2, 200), (7, 4)):
        damaged = bytearray(long)
        damaged[place] = length
        assert decode_displayid(bytes(damaged)).overrun
        sections = decode_displayid(bytes(damaged)).sections
        assert [section.tag for section in sections if section.tag == 0x81] == [0x81] * (
            length == 200
        )


def test_descriptor_among_the_timings_is_no_timing() -> None:
    text = bytes([0, 0, 0, 0xFE, 0]) + b"LL140-F1\n".ljust(13)
    start = build_cta(CtaPlan(timings=(SLOW,)))
    assert len(decode_cta(whole(start + text)).timings) == 1


@given(cta_plans())
def test_cta_decodes_to_what_it_was_built_from(plan: CtaPlan) -> None:
    found = decode_cta(whole(build_cta(plan)))
    is_extended = [tag == 7 and bool(raw) for tag, raw in plan.blocks]
    wanted = [
        (0x700 | raw[0], raw[1:]) if extended else (tag, raw)
        for extended, (tag, raw) in zip(is_extended, plan.blocks, strict=True)
    ]
    assert [(block.tag, block.content) for block in found.blocks] == wanted
    assert (found.revision, found.overrun) == (plan.revision, False)
    assert found.native_count == (plan.flags & 15 if plan.revision > 1 else 0)
    assert all(block.name for block in found.blocks)


@given(displayid_plans())
def test_displayid_decodes_to_what_it_was_built_from(plan: DisplayIdPlan) -> None:
    found = decode_displayid(whole(build_displayid(plan)))
    assert found.version == (plan.version >> 4, plan.version & 15)
    sections = tuple((part.tag, part.revision, part.content) for part in found.sections)
    assert sections == plan.sections
    assert (found.extension_count, found.product_type) == (plan.count, plan.product_type)
    assert found.sum_good
    assert not found.overrun


@given(displayid_plans(), st.integers(1, 120), st.integers(1, 255))
def test_changed_byte_of_a_section_is_noticed(plan: DisplayIdPlan, place: int, by: int) -> None:
    good = build_displayid(plan)
    at = 1 + place % (len(good) - 1)
    if at == 2:  # the length: another stretch is summed then
        return
    changed = bytearray(whole(good))
    changed[at] = (changed[at] + by) % 256
    assert not decode_displayid(bytes(changed)).sum_good


@given(marked_plans())
def test_marked_timing_decodes_to_what_it_was_built_from(plan: MarkedPlan) -> None:
    found = decode_displayid(whole(build_displayid(DisplayIdPlan(sections=(type_1(plan),)))))
    (marked,) = found.timings
    assert isinstance(marked, MarkedTiming)
    wanted, timing = plan.timing, marked.timing
    assert isinstance(timing, DetailedTiming)
    assert marked.preferred == plan.preferred
    assert (timing.clock_hz, timing.interlaced) == (wanted.clock_hz, wanted.interlaced)
    for span, part in ((timing.horizontal, 0), (timing.vertical, 1)):
        size = (wanted.width, wanted.height)[part]
        parts = (size, wanted.blank[part], wanted.front[part], wanted.sync[part])
        assert (span.active, span.blank, span.front, span.sync) == parts


@given(st.sampled_from([b"\x02", b"\x70", b"\xf0"]), st.binary(min_size=126, max_size=126))
def test_any_bytes_decode(tag: bytes, rest: bytes) -> None:
    edid = decode_edid(build_edid(EdidPlan(extensions=(tag + rest,))))
    (found,) = edid.extensions
    assert isinstance(found, Cta | DisplayId | BlockMap)
    if isinstance(found, Cta):
        assert isinstance((found.video_codes, found.colours, found.transfers), tuple)
    if isinstance(found, DisplayId):
        assert isinstance((found.products, found.parameters, found.cta_blocks), tuple)
    assert isinstance(edid.native, DetailedTiming)


@pytest.mark.parametrize("length", [0, 1, 127, 129])
def test_an_extension_has_128_bytes(length: int) -> None:
    with pytest.raises(DecodeError, match="an extension takes 128 bytes"):
        decode_extension(bytes(length))


def test_an_extension_of_which_only_the_tag_is_known_adds_nothing() -> None:
    for found in (OtherExtension(tag=0x10), BlockMap(tags=(2,))):
        assert (timings_of(found), sizes_of(found)) == ((), ())
