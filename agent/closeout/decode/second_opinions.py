"""What libraries answered when asked for a second opinion: JSON to numbers and texts.

The answers are those of psutil, pyudev and py-cpuinfo as they document them. Every function raises
DecodeError where an answer is not what its question asks for.
"""

from __future__ import annotations

import json
from collections.abc import Mapping
from typing import TYPE_CHECKING, Final, cast

from closeout.decode.failure import DecodeError

if TYPE_CHECKING:
    from fractions import Fraction

LARGEST: Final = 1 << 63
"""Beyond it, and beside every number (NaN), lies nothing that a machine can be asked for."""


def decode_memory_total(raw: bytes) -> int:
    """Bytes of all memory, out of psutil's `virtual_memory`."""
    what = "memory"
    total = _members(what, _parse(what, raw)).get("total")
    if isinstance(total, bool) or not isinstance(total, int) or not 0 <= total <= LARGEST:
        raise DecodeError(what, 0, "a whole number of bytes was expected for total")
    return total


def decode_hardware_addresses(raw: bytes) -> Mapping[str, tuple[str, ...]]:
    """Interface to its hardware addresses in lower case, out of psutil's `net_if_addrs`."""
    what = "addresses"
    found = _members(what, _parse(what, raw))
    return {name: _texts(what, addresses) for name, addresses in found.items()}


def decode_charge(raw: bytes) -> float | None:
    """Percent, out of psutil's `sensors_battery`; None where the library sees no pack."""
    what = "charge"
    found = _parse(what, raw)
    if found is None:
        return None
    percent = _members(what, found).get("percent")
    if isinstance(percent, bool) or not isinstance(percent, int | float):
        raise DecodeError(what, 0, "a number was expected for percent")
    if not -LARGEST <= percent <= LARGEST:
        raise DecodeError(what, 0, "percent is no number that a pack can have")
    return float(percent)


def decode_sensors(raw: bytes) -> Mapping[str, tuple[Fraction, ...]]:
    """Chip to what its sensors show, out of psutil's `sensors_temperatures` and `sensors_fans`."""
    what = "sensors"
    found = _members(what, _parse(what, raw))
    return {
        chip: tuple(_current(what, _members(what, entry)) for entry in _entries(what, entries))
        for chip, entries in found.items()
    }


def decode_disks(raw: bytes) -> Mapping[str, Mapping[str, str]]:
    """Name of each disk to its udev properties, those that it has, out of pyudev's devices."""
    what = "disks"
    return dict(_disk(what, _members(what, entry)) for entry in _entries(what, _parse(what, raw)))


def _current(what: str, members: Mapping[str, object]) -> Fraction:
    from fractions import Fraction  # noqa: PLC0415 - without sensors there is nothing to compare

    current = members.get("current")
    if isinstance(current, bool) or not isinstance(current, int | float):
        raise DecodeError(what, 0, "a number was expected for current")
    if not -LARGEST <= current <= LARGEST:
        raise DecodeError(what, 0, "current is no number that a sensor can show")
    return Fraction(current)


def decode_processor_brand(raw: bytes) -> str:
    """Model name of the processor, out of py-cpuinfo's `get_processor_brand`."""
    what = "processor"
    brand = _members(what, _parse(what, raw)).get("brand")
    if not isinstance(brand, str):
        raise DecodeError(what, 0, "a text was expected for brand")
    return brand.strip("\0 ")


def _disk(what: str, members: Mapping[str, object]) -> tuple[str, Mapping[str, str]]:
    told = {key: value for key, value in members.items() if value is not None}
    properties = {key: value for key, value in told.items() if isinstance(value, str)}
    name = properties.pop("name", "")
    if not name or len(properties) + 1 != len(told):
        raise DecodeError(what, 0, "a name and texts were expected of a disk")
    return name, properties


def _parse(what: str, raw: bytes) -> object:
    try:
        found: object = json.loads(raw.decode("utf-8"))
    except UnicodeDecodeError as error:
        raise DecodeError(what, error.start, "no UTF-8 text") from error
    except json.JSONDecodeError as error:
        raise DecodeError(what, error.pos, error.msg) from error
    except ValueError as error:
        raise DecodeError(what, 0, "a number with too many digits") from error
    except RecursionError as error:
        raise DecodeError(what, 0, "nested too deep") from error
    return found


def _members(what: str, found: object) -> Mapping[str, object]:
    if not isinstance(found, dict):
        raise DecodeError(what, 0, "an object was expected")
    return cast("dict[str, object]", found)


def _entries(what: str, found: object) -> list[object]:
    if not isinstance(found, list):
        raise DecodeError(what, 0, "a list was expected")
    return cast("list[object]", found)


def _texts(what: str, found: object) -> tuple[str, ...]:
    """The texts of a list; an address that the library does not know is null and left out."""
    known = [entry for entry in _entries(what, found) if entry is not None]
    texts = tuple(entry.lower() for entry in known if isinstance(entry, str))
    if len(texts) != len(known):
        raise DecodeError(what, 0, "texts were expected in a list")
    return texts
