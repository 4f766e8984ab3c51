"""Every EDID of the open data, field by field, against its index and against edid-decode."""

import json
from collections import Counter
from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from functools import cache
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given

from closeout.decode.edid import EXTENSION_NAMES, Edid, decode_edid
from closeout.decode.edid_description import describe_edid
from closeout.decode.edid_descriptor import LimitsDescriptor
from closeout.decode.edid_given import NotGiven
from closeout.decode.edid_timing import DetailedTiming, Mode
from oracles import edid_decode
from oracles.edid_decode import ListedEdid
from strategies.edid import UNUSED_STANDARD, EdidPlan, TimingPlan, build_edid, edid_plans

Row = Mapping[str, Any]
Pair = tuple[Any, Any]

NEEDS_TOOL = pytest.mark.skipif(
    bool(edid_decode.reason_to_skip()), reason=edid_decode.reason_to_skip()
)


@cache
def rows_of(folder: Path) -> tuple[Row, ...]:
    lines = (folder / "edid.jsonl").read_text().splitlines()
    return tuple(json.loads(line) for line in lines)


def holds_more_blocks_than_it_says(row: Row, _: object) -> bool:
    """Of these the index lost every detailed timing, which edid-decode lists."""
    return row["native"] is None and row["blocks"] > 1 + bytes.fromhex(row["hex"])[126]


def is_size_lost(row: Row, ours: object) -> bool:
    """The index has no size where a note of edid-decode stands before it, or a timing is lost.

    The notes are about sync that is not separate, stereo, and, on panels of the standard SPWG,
    bit 0 of the flags.
    """
    raw = bytes.fromhex(row["hex"])
    flags = raw[71]
    noted = flags & 0x18 != 0x18 or flags & 0x60 or (flags & 1 and is_spwg(raw))
    return row["dtd1_mm"] is None and bool(noted or holds_more_blocks_than_it_says(row, ours))


def is_spwg(raw: bytes) -> bool:
    """The third and fourth descriptors are texts, the second a timing or empty."""
    texts = [raw[at : at + 5] == b"\0\0\0\xfe\0" for at in (90, 108)]
    return all(texts) and 0x0A in raw[113:126]


def is_withheld(row: Row, _: object) -> bool:
    """The index holds no serial text that could be a unit's own."""
    return not row["serial_strings"]


def is_two_part_number(row: Row, ours: object) -> bool:
    """The third text of SPWG panels, which edid-decode takes apart: it lists no text then."""
    return not row["strings"] and is_spwg(bytes.fromhex(row["hex"])) and bool(ours)


def is_blocks_twice(row: Row, ours: object) -> bool:
    """Where a conformity report followed, the index holds the names in it too."""
    assert isinstance(ours, list)
    return row["conformity"] is not None and set(row["ext"]) - {"Base EDID"} == set(ours)


EXPLAINED: Mapping[str, Callable[[Row, object], bool]] = {
    "native": holds_more_blocks_than_it_says,
    "refresh": holds_more_blocks_than_it_says,
    "pixclk_mhz": holds_more_blocks_than_it_says,
    "dtd1_mm": is_size_lost,
    "serial_strings": is_withheld,
    "strings": is_two_part_number,
    "ext": is_blocks_twice,
}
"""Where the index is not the truth; what ours is there is compared with edid-decode below."""

NOT_COMPARED = frozenset(
    {
        "kind",
        "id",
        "hex",
        "serial_redacted_in_text",
        "conformity",
        "conformity_local",
        "checksum_ok_local",
        "has_unit_serial",
    }
)
"""About the index itself; `checksum_ok_local` says what `checksum_ok` says."""


def test_equals_the_index(test_data: Path) -> None:
    """Every row and every field of the index; a difference counts only where it is explained."""
    rows = rows_of(test_data)
    explained: Counter[str] = Counter()
    for row in rows:
        ours = describe_edid(bytes.fromhex(row["hex"]))
        for name in row.keys() - NOT_COMPARED:
            if ours[name] != row[name]:
                why = EXPLAINED.get(name)
                assert why, (row["id"], name, ours[name], row[name])
                assert why(row, ours[name]), (row["id"], name, ours[name], row[name])
                explained[name] += 1
    for name, most in {"native": 1, "dtd1_mm": 3, "strings": 3, "serial_strings": 20}.items():
        assert explained[name] <= len(rows) * most / 100, explained


@NEEDS_TOOL
def test_equals_edid_decode(test_data: Path) -> None:
    """Every field of the first block, names and sums of all blocks, of every row."""
    rows = rows_of(test_data)
    raws = [bytes.fromhex(row["hex"]) for row in rows]
    listings = edid_decode.list_edids(raws)
    wrong = {
        (row["id"], name): pair
        for row, raw, listed in zip(rows, raws, listings, strict=True)
        for name, pair in compare(decode_edid(raw), listed).items()
        if pair[0] != pair[1]
    }
    assert not wrong


@NEEDS_TOOL
@given(edid_plans())
def test_equals_edid_decode_on_built_ones(plan: EdidPlan) -> None:
    """Analog inputs, aspect ratios and odd values, of which the open data has few."""
    timings = tuple(map(listed_by_edid_decode, plan.timings))
    # It looks standard timings up by their bytes before it minds the aspects of before 1.3.
    standard = plan.standard if plan.revision >= 3 else UNUSED_STANDARD
    raw = build_edid(replace(plan, timings=timings, standard=standard))
    pairs = compare(decode_edid(raw), edid_decode.list_edid(raw))
    assert {name: pair for name, pair in pairs.items() if pair[0] != pair[1]} == {}


def listed_by_edid_decode(timing: TimingPlan) -> TimingPlan:
    """It lists no timing without blanking or sync, and takes borders off interlaced fields."""
    (across, down), (sync, pulse) = timing.blank, timing.sync
    return replace(
        timing,
        blank=(max(across, 1), max(down, 1)),
        sync=(max(sync, 1), max(pulse, 1)),
        border=(0, 0) if timing.interlaced else timing.border,
    )


def compare(edid: Edid, listed: ListedEdid) -> dict[str, Pair]:
    """Ours and theirs of everything that edid-decode lists."""
    return {
        **compare_maker(edid, listed),
        **compare_screen(edid, listed),
        **compare_timings(edid, listed),
        **compare_texts(edid, listed),
        "sums": (
            tuple((block.checksum, block.checksum_good) for block in edid.blocks),
            listed.checksums,
        ),
        "blocks": (block_names(edid), listed.block_names),
    }


def block_names(edid: Edid) -> tuple[str, ...]:
    tags = (block.tag for block in edid.blocks[1:])
    unknown = "Unknown EDID Extension Block 0x{:02x}"
    return ("Base EDID", *(EXTENSION_NAMES.get(tag) or unknown.format(tag) for tag in tags))


def compare_maker(edid: Edid, listed: ListedEdid) -> dict[str, Pair]:
    maker = edid.maker
    return {
        "version": (
            f"{edid.version[0]}.{edid.version[1]}",
            listed.value("EDID Structure Version & Revision"),
        ),
        "letters": (maker.letters, listed.value("Manufacturer")),
        "product": (str(maker.product), listed.value("Model")),
        "serial": (text_or_none(maker.serial), listed.value("Serial Number")),
        "made": ((maker.year, given_or_none(maker.week), maker.is_model_year), listed.made()),
    }


def compare_screen(edid: Edid, listed: ListedEdid) -> dict[str, Pair]:
    screen = edid.screen
    size = screen.size_centimetres
    colours = edid.chromaticity
    return {
        "digital": (screen.digital, "Digital display" in listed.words),
        "bits": (
            text_or_none(screen.bits_per_colour),
            listed.value("Bits per primary color channel"),
        ),
        "interface": (screen.interface == "DisplayPort", "DisplayPort interface" in listed.words),
        "size": (
            None if isinstance(size, NotGiven) else f"{size[0]} cm x {size[1]} cm",
            listed.value("Maximum image size"),
        ),
        "aspect": (ratio_text(screen.aspect_hundredths), first_word(listed.value("Aspect ratio"))),
        "gamma": (ratio_text(screen.gamma_hundredths), listed.value("Gamma")),
        "first is native": (
            screen.native_flag,
            "First detailed timing is the preferred" in listed.words
            or "First detailed timing includes the native" in listed.words,
        ),
        "red": (truncated(colours.red), listed.value("Red  ")),
        "green": (truncated(colours.green), listed.value("Green")),
        "blue": (truncated(colours.blue), listed.value("Blue ")),
        "white": (truncated(colours.white), listed.value("White")),
    }


def compare_timings(edid: Edid, listed: ListedEdid) -> dict[str, Pair]:
    ours = [
        (
            (found.width, found.height, found.interlaced),
            (round(float(found.refresh_hertz), 6), found.clock_hz / 1e6),
            listed_size(found),
            (found.horizontal.front, found.horizontal.sync, found.horizontal.back),
            (found.vertical.front, found.vertical.sync, found.vertical.back),
        )
        for found in edid.timings
    ]
    theirs = [
        (
            (found.width, found.height, found.interlaced),
            (found.hertz, found.megahertz),
            found.millimetres,
            found.horizontal,
            found.vertical,
        )
        for found in listed.timings
    ]
    return {
        "timings": (ours, theirs),
        "established": (modes(edid.established), nominal(listed.established)),
        "standard": (modes(edid.standard), nominal(listed.standard)),
        "limits": (limits(edid), list(listed.limits)),
    }


def listed_size(timing: DetailedTiming) -> tuple[int, int] | None:
    size = (timing.horizontal.millimetres, timing.vertical.millimetres)
    return size if any(size) else None


def compare_texts(edid: Edid, listed: ListedEdid) -> dict[str, Pair]:
    pairs: dict[str, Pair] = {
        "names": (list(edid.names), listed.quoted("Display Product Name")),
        "serials": (list(edid.serial_texts), listed.quoted("Display Product Serial Number")),
    }
    makers = listed.quoted("SPWG PC Maker P/N")
    if not makers:
        ours = list(edid.free_texts)
        return {**pairs, "texts": (ours, listed.quoted("Alphanumeric Data String"))}
    # Five characters, a revision byte that may be a letter too, and seven characters.
    part = listed.quoted("SPWG Manufacturer P/N")[0]
    whole = edid.free_texts[0] + "".join(edid.further_texts[:1])
    return {**pairs, "part numbers": ((whole[:5], whole[-len(part) :]), (makers[0], part))}


NOMINAL = {(640, 480, 73): (640, 480, 72), (1024, 768, 72): (1024, 768, 70)}
"""In VESA's monitor timings 640x480 at "72" Hz runs at 72.8 Hz, and the two bytes that say
1024x768 at 72 Hz (61h 4Ch) stand for the one at 70 Hz (DMT 11h)."""


def nominal(found: Sequence[tuple[int, int, int]]) -> list[tuple[int, int, int]]:
    return [NOMINAL.get(mode, mode) for mode in found]


def modes(found: Sequence[Mode]) -> list[tuple[int, int, int]]:
    return nominal([(mode.width, mode.height, mode.hertz) for mode in found])


def limits(edid: Edid) -> list[tuple[int, ...]]:
    found = [part for part in edid.descriptors if isinstance(part, LimitsDescriptor)]
    return [
        (*part.vertical_hertz, *part.horizontal_kilohertz, part.clock_megahertz) for part in found
    ]


def text_or_none(found: object) -> str | None:
    return None if isinstance(found, NotGiven) else str(found)


def given_or_none(found: object) -> object:
    return None if isinstance(found, NotGiven) else found


def first_word(text: str | None) -> str | None:
    return text.split()[0] if text else None


def ratio_text(found: object) -> str | None:
    return f"{found / 100:.2f}" if isinstance(found, int) else None


def truncated(point: tuple[int, int]) -> str:
    """edid-decode cuts behind the fourth digit and does not round."""
    return ", ".join(f"{part * 10_000 // 1024 / 10_000:.4f}" for part in point)
