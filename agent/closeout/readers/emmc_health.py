"""What an eMMC tells of its health.

Kernel files: `life_time` (types A and B) and `pre_eol_info` of an MMC card, in hexadecimal
(Documentation/driver-api/mmc/mmc-dev-attrs.rst; JEDEC eMMC 5.0, EXT_CSD 267 to 269).
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final

from closeout.decode.numerals import parse_hexadecimal
from closeout.kernel.tree import KernelTree
from closeout.model.reading import Absent, Reading, Value, convert
from closeout.readers.attributes import read_text, understand
from closeout.readers.drive_answers import Told

NOT_DEFINED: Final = 0x00
BEYOND_ITS_LIFE: Final = 0x0B
STEP_PERCENT: Final = 10
PRE_END_OF_LIFE: Final = {
    0x02: "80 % of its spare blocks are used up",
    0x03: "90 % of its spare blocks are used up",
}
SPENT: Final = "it is beyond its rated life"


def read_emmc_health(tree: KernelTree, place: str) -> Mapping[str, Told]:
    """Health by the names of the attributes, of the card behind the disk at a place."""
    estimate = _read_estimate(tree, f"{place}/device/life_time")
    spare = _read_spare(tree, f"{place}/device/pre_eol_info")
    return {
        "tells_health": _tells(estimate, spare),
        "critical_warnings": _warnings(estimate, spare),
        "percentage_used": convert(estimate, lambda step: step * STEP_PERCENT),
    }


def _read_estimate(tree: KernelTree, path: str) -> Reading[int]:
    """The worse of both estimates in steps of ten percent, 0Bh for all beyond."""
    found = understand(read_text(tree, path), "two estimates from 0x00 to 0x0b", _parse_estimates)
    return _defined(found)


def _read_spare(tree: KernelTree, path: str) -> Reading[int]:
    highest = max(PRE_END_OF_LIFE)
    found = understand(
        read_text(tree, path), "a state from 0x00 to 0x03", lambda text: _parse(text, highest)
    )
    return _defined(found)


def _parse_estimates(text: str) -> int | None:
    words = text.split()
    steps = [_parse(word, BEYOND_ITS_LIFE) for word in words]
    known = [step for step in steps if step is not None]
    return max(known) if len(known) == len(words) == 2 else None  # noqa: PLR2004 - types A and B


def _parse(word: str, highest: int) -> int | None:
    digits = parse_hexadecimal(word, 2)
    return int(digits, 16) if digits is not None and int(digits, 16) <= highest else None


def _defined(found: Reading[int]) -> Reading[int]:
    if isinstance(found, Value) and found.value == NOT_DEFINED:
        return Absent(reason="the card does not tell it (00h: not defined)", sources=found.sources)
    return found


def _tells(estimate: Reading[int], spare: Reading[int]) -> Reading[bool]:
    """A card of a standard before eMMC 5.0 tells neither."""
    sources = estimate.sources + spare.sources
    if isinstance(estimate, Absent) and isinstance(spare, Absent):
        return Value(value=False, sources=sources)
    return Value(value=True, sources=sources)


def _warnings(estimate: Reading[int], spare: Reading[int]) -> Reading[tuple[str, ...]]:
    """No warning needs the state of the spare blocks; one that warns is enough for one."""
    told = tuple(
        words
        for words in (
            PRE_END_OF_LIFE.get(spare.value) if isinstance(spare, Value) else None,
            SPENT if isinstance(estimate, Value) and estimate.value == BEYOND_ITS_LIFE else None,
        )
        if words
    )
    if not told and not isinstance(spare, Value):
        return spare
    if not told and not isinstance(estimate, Value | Absent):
        return estimate
    return Value(value=told, sources=spare.sources + estimate.sources)
