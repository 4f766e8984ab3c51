"""Extension blocks of every EDID of the open data, field by field, against edid-decode."""

import json
from collections import Counter
from collections.abc import Iterable, Mapping
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from typing import Any

import pytest

from closeout.decode.edid import EXTENSION_NAMES, decode_edid
from closeout.decode.edid_cta import Cta
from closeout.decode.edid_displayid import CTA, DisplayId, MarkedTiming
from closeout.decode.edid_extension import Extension, OtherExtension
from closeout.decode.edid_given import NotGiven
from oracles import edid_decode
from oracles.edid_extensions import ListedExtension, Timing, read_extensions

Pair = tuple[Any, Any]

NEEDS_TOOL = pytest.mark.skipif(
    bool(edid_decode.reason_to_skip()), reason=edid_decode.reason_to_skip()
)
CTA_FLAGS = {
    "Underscans IT Video Formats by default": "underscan",
    "Basic audio support": "basic_audio",
    "Supports YCbCr 4:4:4": "ycbcr_444",
    "Supports YCbCr 4:2:2": "ycbcr_422",
}
TRANSFERS = {
    "Traditional gamma - SDR luminance range": "SDR",
    "Traditional gamma - HDR luminance range": "HDR",
    "SMPTE ST2084": "SMPTE ST2084",
    "Hybrid Log-Gamma": "Hybrid Log-Gamma",
}
COLOURS = (
    *("xvYCC601", "xvYCC709", "sYCC601", "opYCC601"),
    *("opRGB", "BT2020cYCC", "BT2020YCC", "BT2020RGB"),
)
MOST_EXPLAINED = {"native": 1}
"""Differences that are explained below, and how many of them there are at most."""


@NEEDS_TOOL
def test_equals_edid_decode(test_data: Path) -> None:
    """Every extension of every row; what differs is explained, and counted."""
    lines = (test_data / "edid.jsonl").read_text().splitlines()
    raws = [bytes.fromhex(json.loads(line)["hex"]) for line in lines]
    raws = [raw for raw in raws if len(raw) >= 256]
    kinds: Counter[str] = Counter()
    explained: Counter[str] = Counter()
    wrong: list[tuple[str, str, Pair]] = []
    for raw, text in zip(raws, list_all(raws), strict=True):
        for found, listed in zip(decode_edid(raw).extensions, read_extensions(text), strict=True):
            kinds[type(found).__name__] += 1
            for name, (ours, theirs) in compare(found, listed).items():
                if ours == theirs:
                    continue
                if is_explained(name, found, listed):
                    explained[name] += 1
                else:
                    wrong.append((raw.hex(), name, (ours, theirs)))
    assert not wrong, (len(wrong), wrong[:3])
    assert all(count <= MOST_EXPLAINED[name] for name, count in explained.items()), explained
    assert (kinds["Cta"], kinds["DisplayId"], kinds["OtherExtension"]) == (754, 231, 102)


def list_all(raws: Iterable[bytes]) -> list[str]:
    with ThreadPoolExecutor(edid_decode.AT_ONCE) as pool:
        return list(pool.map(edid_decode.list_words, raws))


def is_explained(name: str, found: Extension, listed: ListedExtension) -> bool:
    """It prints no flags where the header has no place for data blocks and timings."""
    is_silent = listed.value("Native detailed modes") is None
    return name == "native" and isinstance(found, Cta) and found.native_count == 0 and is_silent


def compare(found: Extension, listed: ListedExtension) -> Mapping[str, Pair]:
    """Ours and theirs of everything that edid-decode lists of an extension."""
    match found:
        case Cta():
            return compare_cta(found, listed)
        case DisplayId():
            return compare_displayid(found, listed)
        case OtherExtension(tag=tag):
            unknown = f"Unknown EDID Extension Block 0x{tag:02x}"
            return {"kind": (EXTENSION_NAMES.get(tag) or unknown, listed.name)}
        case _:
            return {"kind": ("Block Map Extension Block", listed.name)}


def compare_cta(found: Cta, listed: ListedExtension) -> Mapping[str, Pair]:
    native = str(found.native_count) if found.revision > 1 else None
    unmarked = (MarkedTiming(timing=timing, preferred=False) for timing in found.timings)
    return {
        "kind": ("CTA-861 Extension Block", listed.name),
        "revision": (str(found.revision), listed.value("Revision")),
        "native": (native, listed.value("Native detailed modes")),
        "data blocks": ([block.name for block in found.blocks], listed.data_blocks()),
        "video codes": (list(found.video_codes), listed.video_codes()),
        "timings": (timings(unmarked), listed.timings()),
        "colours": (list(found.colours), lines_among(listed, COLOURS)),
        "transfers": (
            list(found.transfers),
            [TRANSFERS[line] for line in lines_among(listed, TRANSFERS)],
        ),
        **{
            words: (getattr(found, name), f"  {words}\n" in listed.words)
            for words, name in CTA_FLAGS.items()
        },
    }


def compare_displayid(found: DisplayId, listed: ListedExtension) -> Mapping[str, Pair]:
    blocks: list[str] = []
    inside = iter(found.cta_blocks)
    for section in found.sections:
        blocks.append(section.name)
        if section.tag == CTA:
            blocks += [block.name for block in inside]
    products = found.products
    given = [product.serial for product in products if not isinstance(product.serial, NotGiven)]
    years = [product.year for product in products if not isinstance(product.year, NotGiven)]
    sizes = [each.size_tenths for each in found.parameters]
    pixels = [each.pixels for each in found.parameters]
    return {
        "kind": ("DisplayID Extension Block", listed.name),
        "version": ("{}.{}".format(*found.version), listed.value("Version")),
        "count": (str(found.extension_count), listed.value("Extension Count")),
        "sum": (found.sum_good, listed.section_sum_good()),
        "data blocks": (blocks, [name for name in listed.data_blocks() if name != "Filler"]),
        "timings": (timings(found.timings), listed.timings()),
        "products": ([product.product for product in products], listed.numbers("Product Code")),
        "serials": (given, listed.numbers("Serial Number")),
        "years": (years, listed.numbers("Year of Manufacture") or listed.numbers("Model Year")),
        "names": ([p.name for p in products if p.name], listed.texts("Product ID")),
        "sizes": (
            [size for size in sizes if not isinstance(size, NotGiven)],
            [(round(10 * a), round(10 * b)) for a, b in listed.pairs("Image size", " mm")],
        ),
        "pixels": (
            [size for size in pixels if not isinstance(size, NotGiven)],
            [(int(a), int(b)) for a, b in listed.pairs("Display native pixel format", "")],
        ),
    }


def lines_among(listed: ListedExtension, words: Iterable[str]) -> list[str]:
    known = set(words)
    return [line.strip() for line in listed.words.splitlines() if line.strip() in known]


def timings(marked: Iterable[MarkedTiming]) -> list[Timing]:
    return [_timing(each) for each in marked]


def _timing(marked: MarkedTiming) -> Timing:
    found = marked.timing
    across, down = found.horizontal, found.vertical
    return (
        (found.width, found.height, found.interlaced),
        *(round(float(found.refresh_hertz), 6), found.clock_hz / 1e6),
        (across.front, across.sync, across.back),
        (down.front, down.sync, down.back),
        marked.preferred,
    )
