"""An EDID ready for JSON, for `closeout decode edid`."""

from __future__ import annotations

from typing import TypeVar

from closeout.decode.edid import Edid, decode_edid, name_extension
from closeout.decode.edid_descriptor import LimitsDescriptor, OtherDescriptor
from closeout.decode.edid_extension_description import describe_extension
from closeout.decode.edid_given import Given, NotGiven
from closeout.decode.edid_timing import DetailedTiming, Mode, Span

T = TypeVar("T")


def describe_edid(raw: bytes) -> dict[str, object]:
    """Every field under the names and in the forms of the open data; null is "not given".

    `refresh` in Hz and `pixclk_mhz` in MHz are of the first detailed timing, `native` its
    picture with both fields of an interlaced one, `bpc` a text. `checksum_ok` speaks for all
    blocks that are there, `length_ok` compares their number with what the first one says.
    `native_anywhere` is the preferred mode where an extension alone gives it, too.

    Raises:
        DecodeError: as `decode_edid`.
    """
    edid = decode_edid(raw)
    return {
        **_identity(edid),
        **_screen(edid),
        **_preferred(edid),
        "product_name": list(edid.names),
        "strings": list(edid.free_texts),
        "further_strings": list(edid.further_texts),
        "timings": [_timing(timing) for timing in edid.timings],
        "established": [_mode(mode) for mode in edid.established],
        "standard": [_mode(mode) for mode in edid.standard],
        "limits": [_limits(found) for found in _limits_of(edid)],
        "other_descriptors": [
            found.meaning for found in edid.descriptors if isinstance(found, OtherDescriptor)
        ],
        "length": edid.length,
        "length_ok": edid.is_whole,
        "extension_count": edid.extension_count,
        "blocks": len(edid.blocks),
        "ext": [name_extension(block.tag) for block in edid.blocks[1:]],
        "extensions": [describe_extension(found) for found in edid.extensions],
        "native_anywhere": _mode_of(edid.native),
        "checksum_ok": edid.is_sound,
        "checksums": [
            {"block": number, "checksum": block.checksum, "ok": block.checksum_good}
            for number, block in enumerate(edid.blocks)
        ],
    }


def _identity(edid: Edid) -> dict[str, object]:
    maker = edid.maker
    return {
        "edid_version": f"{edid.version[0]}.{edid.version[1]}",
        "manufacturer": maker.letters,
        "model": maker.product,
        "serial": _or_null(maker.serial),
        "serial_strings": list(edid.serial_texts),
        "year": maker.year,
        "week": _or_null(maker.week),
        "model_year": maker.is_model_year,
    }


def _screen(edid: Edid) -> dict[str, object]:
    screen = edid.screen
    size = screen.size_centimetres
    width, height = (None, None) if isinstance(size, NotGiven) else size
    bits = screen.bits_per_colour
    colours = edid.chromaticity
    return {
        "digital": screen.digital,
        "bpc": None if isinstance(bits, NotGiven) else str(bits),
        "interface": _or_null(screen.interface),
        "width_cm": width,
        "height_cm": height,
        "aspect_only": _hundredths(screen.aspect_hundredths),
        "gamma": _hundredths(screen.gamma_hundredths),
        "native_flag": screen.native_flag,
        "chromaticity": {
            "red": _point(colours.red),
            "green": _point(colours.green),
            "blue": _point(colours.blue),
            "white": _point(colours.white),
        },
    }


def _preferred(edid: Edid) -> dict[str, object]:
    timing = edid.preferred
    if isinstance(timing, NotGiven):
        none_there = dict.fromkeys(("native", "refresh", "pixclk_mhz", "dtd1_mm"))
        return {**none_there, "interlaced": False}
    size = timing.size_millimetres
    return {
        "native": [timing.width, timing.height],
        "interlaced": timing.interlaced,
        "refresh": _hertz(timing),
        "pixclk_mhz": timing.clock_hz / 1e6,
        "dtd1_mm": None if isinstance(size, NotGiven) else list(size),
    }


def _timing(timing: DetailedTiming) -> dict[str, object]:
    return {
        "mode": [timing.width, timing.height],
        "interlaced": timing.interlaced,
        "refresh": _hertz(timing),
        "pixclk_mhz": timing.clock_hz / 1e6,
        "horizontal": _span(timing.horizontal),
        "vertical": _span(timing.vertical),
    }


def _span(span: Span) -> dict[str, int]:
    return {
        "active": span.active,
        "blank": span.blank,
        "front": span.front,
        "sync": span.sync,
        "back": span.back,
        "border": span.border,
        "mm": span.millimetres,
    }


def _mode(mode: Mode) -> list[int]:
    return [mode.width, mode.height, mode.hertz]


def _limits_of(edid: Edid) -> list[LimitsDescriptor]:
    return [found for found in edid.descriptors if isinstance(found, LimitsDescriptor)]


def _limits(found: LimitsDescriptor) -> dict[str, object]:
    return {
        "vertical_hz": list(found.vertical_hertz),
        "horizontal_khz": list(found.horizontal_kilohertz),
        "pixclk_mhz": found.clock_megahertz,
    }


def _mode_of(timing: Given[DetailedTiming]) -> list[int] | None:
    return None if isinstance(timing, NotGiven) else [timing.width, timing.height]


def _hertz(timing: DetailedTiming) -> float:
    return round(float(timing.refresh_hertz), 6)


def _hundredths(found: Given[int]) -> float | None:
    return None if isinstance(found, NotGiven) else found / 100


def _point(point: tuple[int, int]) -> list[float]:
    return [round(part / 1024, 4) for part in point]


def _or_null(found: Given[T]) -> T | None:
    return None if isinstance(found, NotGiven) else found
