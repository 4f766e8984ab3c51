"""An EDID's extensions ready for JSON, for `closeout decode edid`."""

from __future__ import annotations

from typing import assert_never

from closeout.decode.edid_cta import Cta
from closeout.decode.edid_displayid import DisplayId, Parameters, Product
from closeout.decode.edid_extension import BlockMap, Extension, OtherExtension
from closeout.decode.edid_given import NotGiven
from closeout.decode.edid_timing import DetailedTiming


def describe_extension(found: Extension) -> dict[str, object]:
    """What is told of an extension; `kind` says which it is."""
    match found:
        case Cta():
            return _describe_cta(found)
        case DisplayId():
            return _describe_displayid(found)
        case BlockMap(tags=tags):
            return {"kind": "block map", "tags": list(tags)}
        case OtherExtension(tag=tag):
            return {"kind": "other", "tag": tag}
        case _:
            assert_never(found)


def _describe_cta(found: Cta) -> dict[str, object]:
    return {
        "kind": "CTA-861",
        "revision": found.revision,
        "data_blocks": [block.name for block in found.blocks],
        "video_codes": list(found.video_codes),
        "colours": list(found.colours),
        "transfers": list(found.transfers),
        "timings": [_describe_timing(timing) for timing in found.timings],
        "fits": not found.overrun,
    }


def _describe_displayid(found: DisplayId) -> dict[str, object]:
    return {
        "kind": "DisplayID",
        "version": "{}.{}".format(*found.version),
        "data_blocks": [section.name for section in found.sections],
        "products": [_describe_product(product) for product in found.products],
        "parameters": [_describe_parameters(told) for told in found.parameters],
        "timings": [
            {**_describe_timing(marked.timing), "preferred": marked.preferred}
            for marked in found.timings
        ],
        "section_checksum_ok": found.sum_good,
        "fits": not found.overrun,
    }


def _describe_product(product: Product) -> dict[str, object]:
    return {"maker": product.maker, "product": product.product, "name": product.name}


def _describe_parameters(told: Parameters) -> dict[str, object]:
    size, pixels = told.size_tenths, told.pixels
    return {
        "tenths_of_mm": None if isinstance(size, NotGiven) else list(size),
        "pixels": None if isinstance(pixels, NotGiven) else list(pixels),
    }


def _describe_timing(timing: DetailedTiming) -> dict[str, object]:
    return {
        "mode": [timing.width, timing.height],
        "interlaced": timing.interlaced,
        "refresh": round(float(timing.refresh_hertz), 6),
        "pixclk_mhz": timing.clock_hz / 1e6,
    }
