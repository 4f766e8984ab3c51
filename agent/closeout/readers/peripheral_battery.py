"""Packs of what goes with the unit and never feeds it: mouse, pen, keyboard dock, UPS.

Kernel path: `sys/class/power_supply/*` of type Battery or UPS (Documentation/ABI/testing/
sysfs-class-power). What tells them from the unit's own: `closeout.readers.power_supply`.
"""

from __future__ import annotations

from functools import partial
from typing import Final

from closeout.decode.numerals import parse_whole
from closeout.decode.uevent import decode_uevent
from closeout.kernel.tree import KernelTree
from closeout.model.battery import PeripheralBattery
from closeout.model.device import Position
from closeout.model.inventory import Listing
from closeout.model.reading import Absent, Reading, Value
from closeout.readers.attributes import read_bytes, understand
from closeout.readers.first_told import first_told
from closeout.readers.placeholder import sort_text
from closeout.readers.places import label_of
from closeout.readers.power_supply import (
    Supply,
    Tell,
    ask_supply,
    explain_peripheral,
    find_supplies,
    leave_out_unknown,
)
from closeout.readers.reader import Reader

STORES: Final = frozenset({"Battery", "UPS"})
UNIQUE_NAME: Final = "HID_UNIQ"
FLAGS: Final = {"0": False, "1": True}


def find_peripheral_batteries(tree: KernelTree) -> Listing:
    """The places of all packs that are not the unit's own."""
    return find_supplies(tree, is_of_a_peripheral)


def is_of_a_peripheral(supply: Supply) -> bool:
    """A store of energy that something outside has."""
    return supply.supply_type in STORES and explain_peripheral(supply) is not None


def read_peripheral_battery(tree: KernelTree, place: str) -> PeripheralBattery:
    """One of them."""
    tell = ask_supply(tree, place)
    supply_type = tell("type")
    return PeripheralBattery(
        place=place,
        label=label_of(place),
        position=Position.EXTERNAL,
        why_peripheral=_explain(place, tell, supply_type),
        supply_type=supply_type,
        manufacturer=sort_text(tell("manufacturer"), "PortableBattery/Manufacturer"),
        model=sort_text(tell("model_name"), "PortableBattery/Name"),
        serial=sort_text(_read_serial(tree, place, tell), "PortableBattery/Serial Number"),
        present=understand(tell("present"), "0 or 1", FLAGS.get),
        online=understand(tell("online"), "0 or 1", FLAGS.get),
        status=leave_out_unknown(tell("status")),
        capacity_percent=understand(tell("capacity"), "a whole number", parse_whole),
        capacity_level=leave_out_unknown(tell("capacity_level")),
    )


def _read_serial(tree: KernelTree, place: str, tell: Tell) -> Reading[str]:
    """What tells one peripheral from its like: a serial number, or the address of a radio.

    An input device has it as HID_UNIQ (hid_uevent, drivers/hid/hid-core.c), and many packs in
    their name, so it has to be known to be kept out of what is passed on.
    """
    ways = (partial(tell, "serial_number"), partial(_read_unique_name, tree, place))
    return first_told(ways, "neither the pack nor its device tells one")


def _read_unique_name(tree: KernelTree, place: str) -> Reading[str]:
    content = read_bytes(tree, f"{place.partition('/power_supply/')[0]}/uevent")
    if not isinstance(content, Value):
        return content
    name = decode_uevent(content.value).get(UNIQUE_NAME, "").strip()
    if not name:
        return Absent(reason="its device has no name of its own", sources=content.sources)
    return Value(value=name, sources=content.sources)


def _explain(place: str, tell: Tell, supply_type: Reading[str]) -> Reading[str]:
    scope = tell("scope")
    supply = Supply(
        place=place,
        supply_type=supply_type.value if isinstance(supply_type, Value) else "",
        scope=scope.value if isinstance(scope, Value) else "",
    )
    sources = supply_type.sources + scope.sources
    why = explain_peripheral(supply)
    if why is None:
        return Absent(reason="nothing tells it from the unit's own now", sources=sources)
    return Value(value=why, sources=sources)


READERS: Final = (
    Reader(
        kind="peripheral_battery",
        find=find_peripheral_batteries,
        read=read_peripheral_battery,
    ),
)
