"""A profile out of a known good unit: what stays the same from unit to unit of its model.

What differs between units of a model (serials, charge, temperatures) is never demanded by value,
and no demand is kept that the unit itself does not meet.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from typing import Final, TypeAlias, cast

from closeout.judge.comparison import parts_of
from closeout.judge.demands import judge_expectation
from closeout.judge.selection import attribute_of
from closeout.model.attribute import Shape, attributes_of
from closeout.model.catalogue import Catalogue
from closeout.model.device import Device, Position
from closeout.model.expectation import Expectation, Scalar
from closeout.model.finding import Outcome
from closeout.model.inventory import KINDS, Inventory
from closeout.model.reading import Blank, Filler, Value

Table: TypeAlias = dict[str, object]
ReadDemand: TypeAlias = Callable[[Table], tuple[Expectation, ...]]

IDENTITY: Final = ("system", "board", "chassis", "bios")
FILLED: Final = (
    ("system", "serial", "must"),
    ("system", "uuid", "must"),
    ("board", "serial", "note"),
)
ALIKE: Final = (
    ("system", "manufacturer", "must"),
    ("system", "product", "must"),
    ("system", "family", "should"),
    ("board", "product", "should"),
    ("chassis", "chassis_type", "should"),
    ("firmware", "boot_mode", "should"),
    ("firmware", "setup_mode", "must"),
    ("tpm", "version_major", "should"),
    ("processor", "model", "should"),
    ("main_memory", "slots", "should"),
    ("main_memory", "maximum_bytes", "should"),
    ("display", "native_mode", "should"),
    ("display", "edid_valid", "should"),
    ("display", "native_mode_offered", "should"),
    ("backlight", "in_range", "should"),
    ("battery", "energy_full_design_uwh", "should"),
    ("battery", "charge_full_design_uah", "should"),
    ("touchpad", "bus", "should"),
    ("touchpad", "fallback", "should"),
    ("touchscreen", "bus", "should"),
    ("wifi", "mac_sound", "should"),
    ("bluetooth", "mac_sound", "should"),
    ("clock", "running", "should"),
)
"""What is the same on every unit of a model, and how much it counts."""
SOUND: Final = (
    ("drive", "critical_warnings", "should"),
    ("identity_views", "disagreements", "note"),
    ("identity_views", "table_faults", "note"),
)
"""Lists of trouble that are empty on a healthy unit."""
PARTS: Final = (
    *("tpm", "drive", "display", "backlight", "keyboard", "keyboard_light", "touchpad"),
    *("pointing_stick", "touchscreen", "lid_switch", "battery", "fan", "accelerometer"),
    *("light_sensor", "wifi", "bluetooth", "wwan", "type_c_port", "nfc", "camera"),
    *("smart_card_reader", "memory_module", "clock"),
)
"""Classes whose devices belong to the model."""
COUNTED: Final = frozenset({"battery", "camera"})
"""Of these as many as the unit has are demanded; of the others one."""
OLDEST: Final = ("bios", "version", "should")
STREAMS: Final = ("playback", "capture")


def draft_demands(inventory: Inventory, catalogue: Catalogue, read: ReadDemand) -> Iterator[Table]:
    """The demands that the unit makes of its like, as tables of a profile file.

    `read` gives what a table demands, nothing where no file may hold it. Raises KeyError where
    the catalogue does not explain a rule.
    """
    seen: list[Table] = []
    for table in _candidates(inventory):
        if table not in seen and _is_met(inventory, table, catalogue, read):
            seen.append(table)
            yield table


def find_blank(inventory: Inventory) -> tuple[str, ...]:
    """The identity fields that the unit leaves blank, or filled with a placeholder."""
    names = {
        f"{kind}.{name}": None
        for kind in IDENTITY
        for device in inventory.section(kind).devices
        for name in attributes_of(KINDS[kind])
        if isinstance(attribute_of(device, name), Blank | Filler)
    }
    return tuple(names)


def _candidates(inventory: Inventory) -> Iterator[Table]:
    for kind, attribute, weight in FILLED:
        yield {"class": kind, "attribute": attribute, "filled": True, "weight": weight}
    yield from _parts(inventory)
    for kind, attribute, weight in ALIKE:
        if wanted := _alike(inventory, kind, attribute):
            yield {"class": kind, "attribute": attribute, **wanted, "weight": weight}
    kind, attribute, weight = OLDEST
    for value in _values(inventory, kind, attribute):
        yield {"class": kind, "attribute": attribute, "newer_or_equal": value, "weight": weight}
    for kind, attribute, weight in SOUND:
        yield {"class": kind, "attribute": attribute, "empty": True, "weight": weight}


def _parts(inventory: Inventory) -> Iterator[Table]:
    for kind in PARTS:
        devices = _all(inventory, kind)
        if count := sum(device.position is not Position.EXTERNAL for device in devices):
            yield from _presence(kind, count)
    for serves in STREAMS:
        where: Table = {"serves": serves}
        yield {"class": "sound_card", "where": where, "present": True, "weight": "should"}
    for ids in dict.fromkeys(_inside_usb(inventory)):
        where = {"ids": ids}
        yield {"class": "usb_device", "where": where, "present": True, "weight": "should"}


def _presence(kind: str, count: int) -> Iterator[Table]:
    """As many as there are, and one where some of them may not count."""
    if kind in COUNTED and count > 1:
        yield {"class": kind, "devices_at_least": count, "weight": "must"}
    yield {"class": kind, "present": True, "weight": "must"}


def _alike(inventory: Inventory, kind: str, attribute: str) -> Table:
    """`equals`, or `one_of` where devices differ; nothing where none has a value."""
    values = list(dict.fromkeys(_values(inventory, kind, attribute)))
    if len(values) == 1:
        return {"equals": values[0]}
    is_flag = attributes_of(KINDS[kind])[attribute].shape is Shape.FLAG
    return {"one_of": values} if values and not is_flag else {}


def _values(inventory: Inventory, kind: str, attribute: str) -> Iterator[Scalar]:
    for device in _all(inventory, kind):
        reading = attribute_of(device, attribute)
        if device.position is not Position.EXTERNAL and isinstance(reading, Value):
            yield from cast("tuple[Scalar, ...]", parts_of(reading.value))


def _inside_usb(inventory: Inventory) -> Iterator[str]:
    """Ids of USB devices that certainly belong to the unit."""
    for device in _all(inventory, "usb_device"):
        reading = attribute_of(device, "ids")
        if device.position is Position.INTERNAL and isinstance(reading, Value):
            yield str(reading.value)


def _all(inventory: Inventory, kind: str) -> Iterable[Device]:
    return inventory.section(kind).devices


def _is_met(inventory: Inventory, table: Table, catalogue: Catalogue, read: ReadDemand) -> bool:
    """Whether a file can make the demand, and the unit itself meets it."""
    expectations = read(table)
    return bool(expectations) and all(
        finding.outcome is Outcome.PASS
        for expectation in expectations
        for finding in judge_expectation(inventory, expectation, catalogue)
    )
