"""What a SATA drive tells of its health, its lock and its link.

SMART is read, never switched on. The number of an attribute and its raw value mean what most
drives mean by them (common practice; no standard says so).
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Final

from closeout.decode.ata_identify import AtaDevice, decode_ata_identify
from closeout.decode.ata_smart import (
    AtaSmart,
    decode_ata_smart,
    decode_ata_status,
    decode_ata_thresholds,
    is_at_threshold,
)
from closeout.decode.scsi_pages import identify_of_page
from closeout.kernel.question_names import ATA_IDENTIFY, ATA_SMART, ATA_STATUS, ATA_THRESHOLDS
from closeout.kernel.tree import KernelTree
from closeout.model.reading import Absent, Reading, Unreadable, Value
from closeout.readers.attributes import read_bytes
from closeout.readers.drive_answers import Told, ask, decoded, pick
from closeout.readers.drive_lock import either_locked, read_opal, read_password, together
from closeout.readers.first_told import first_told
from closeout.readers.places import label_of
from closeout.readers.sata_link import read_possible_speed, read_sata_speed, read_slow

FAILING: Final = "the drive's own status says that it is failing"
COUNT_BITS: Final = 32
"""Many drives keep other figures in the upper sixteen of the 48 bits."""
COUNTS: Final[Mapping[str, int]] = {
    "reallocated_sectors": 5,
    "power_on_hours": 9,
    "power_cycles": 12,
    "pending_sectors": 197,
    "uncorrectable_sectors": 198,
    "crc_errors": 199,
}
TEMPERATURES: Final = (194, 190)
"""The low byte is degrees Celsius now; lowest and highest may stand above it."""
COLDEST: Final = -40
HOTTEST: Final = 125


def read_ata_health(tree: KernelTree, place: str) -> Mapping[str, Told]:
    """Health, lock and link by the names of the attributes."""
    identity = read_identity(tree, place)
    password, opal = read_password(identity), read_opal(tree, label_of(place))
    speed, possible = read_sata_speed(tree, place), read_possible_speed(tree, place, identity)
    return {
        "tells_health": pick(
            identity, lambda device: device.smart_supported, "the drive does not tell whether"
        ),
        **_read_smart(tree, place, _obstacle(identity)),
        "security": together(password, opal),
        "locked": either_locked(password, opal),
        "link_speed": speed,
        "link_speed_possible": possible,
        "link_degraded": read_slow(speed, possible),
    }


def read_identity(tree: KernelTree, place: str) -> Reading[AtaDevice]:
    """What the drive says of itself: asked now, or as the kernel has kept it for everybody."""
    page = f"{place}/device/vpd_pg89"
    ways = (
        lambda: _sound(ask(tree, f"{ATA_IDENTIFY} {label_of(place)}", decode_ata_identify)),
        lambda: _sound(decoded(read_bytes(tree, page), _decode_page)),
    )
    return first_told(ways, "the drive does not say who it is")


def _decode_page(raw: bytes) -> AtaDevice:
    return decode_ata_identify(identify_of_page(raw))


def _sound(identity: Reading[AtaDevice]) -> Reading[AtaDevice]:
    if isinstance(identity, Value) and identity.value.checksum_good is False:
        advice = "the sum of the drive's answer is wrong; reseat the drive or its cable"
        return Unreadable(error="MALFORMED", advice=advice, sources=identity.sources)
    return identity


def _obstacle(identity: Reading[AtaDevice]) -> Absent | Unreadable | None:
    """Why SMART need not be asked for; None where it can be, or where nobody knows."""
    if not isinstance(identity, Value):
        return None
    if identity.value.smart_supported is False:
        return Absent(reason="the drive has no SMART", sources=identity.sources)
    if identity.value.smart_enabled is False:
        advice = "SMART is switched off in the drive; look for it in the firmware's setup"
        return Unreadable(error="SMART_OFF", advice=advice, sources=identity.sources)
    return None


def _read_smart(
    tree: KernelTree, place: str, obstacle: Absent | Unreadable | None
) -> Mapping[str, Told]:
    if obstacle is not None:
        return dict.fromkeys(("critical_warnings", *COUNTS, "temperature_millicelsius"), obstacle)
    disk = label_of(place)
    smart = ask(tree, f"{ATA_SMART} {disk}", decode_ata_smart)
    counts = {name: _count(smart, number) for name, number in COUNTS.items()}
    return {
        "critical_warnings": _warnings(tree, disk, smart),
        **counts,
        "temperature_millicelsius": first_told(
            [_temperature_way(smart, number) for number in TEMPERATURES],
            "the drive has no such attribute",
        ),
    }


def _count(smart: Reading[AtaSmart], number: int) -> Reading[int]:
    raw = _raw(smart, number)
    if isinstance(raw, Value):
        return Value(value=raw.value & (1 << COUNT_BITS) - 1, sources=raw.sources)
    return raw


def _raw(smart: Reading[AtaSmart], number: int) -> Reading[int]:
    def choose(found: AtaSmart) -> int | None:
        attribute = found.attributes.get(number)
        return None if attribute is None else attribute.raw

    return pick(smart, choose, f"the drive has no attribute {number}")


def _temperature_way(smart: Reading[AtaSmart], number: int) -> Callable[[], Reading[int]]:
    return lambda: _temperature(_raw(smart, number), number)


def _temperature(raw: Reading[int], number: int) -> Reading[int]:
    if not isinstance(raw, Value):
        return raw
    low = raw.value & 0xFF
    degrees = low - 0x100 if low & 0x80 else low
    if not COLDEST <= degrees <= HOTTEST or degrees == 0:
        reason = f"attribute {number} holds no temperature"
        return Absent(reason=reason, sources=raw.sources)
    return Value(value=degrees * 1000, sources=raw.sources)


def _warnings(tree: KernelTree, disk: str, smart: Reading[AtaSmart]) -> Reading[tuple[str, ...]]:
    """What the drive concludes itself, with the attributes that it concludes it from."""
    failing = ask(tree, f"{ATA_STATUS} {disk}", decode_ata_status)
    thresholds = ask(tree, f"{ATA_THRESHOLDS} {disk}", decode_ata_thresholds)
    if not isinstance(failing, Value):
        return failing
    words = (FAILING,) if failing.value else ()
    if not (isinstance(smart, Value) and isinstance(thresholds, Value)):
        return Value(value=words, sources=failing.sources)
    reached = tuple(
        f"attribute {attribute.number} is at its threshold"
        for attribute in smart.value.attributes.values()
        if attribute.pre_failure
        and is_at_threshold(attribute, thresholds.value.get(attribute.number, 0))
    )
    sources = failing.sources + smart.sources + thresholds.sources
    return Value(value=words + reached, sources=sources)
