"""Battery packs, and with them the adapters, out of the kernel class power_supply.

Kernel path: `sys/class/power_supply/*` of type Battery (Documentation/ABI/testing/
sysfs-class-power; the ACPI driver is drivers/acpi/battery.c).
"""

from __future__ import annotations

from typing import Final

from closeout.decode.numerals import parse_whole
from closeout.kernel.tree import KernelTree
from closeout.model.battery import Battery
from closeout.model.device import Position
from closeout.model.frozen import frozen
from closeout.model.inventory import Listing
from closeout.model.reading import Absent, Reading, Value
from closeout.readers import adapter, peripheral_battery
from closeout.readers.attributes import not_understood, understand
from closeout.readers.battery_charge import read_cell_heat, read_charge_control
from closeout.readers.placeholder import sort_text
from closeout.readers.places import label_of, read_position
from closeout.readers.power_supply import (
    Supply,
    Tell,
    ask_supply,
    explain_peripheral,
    find_supplies,
    leave_out_unknown,
)
from closeout.readers.reader import Reader

FLAGS: Final = {"0": False, "1": True}
UNKNOWN_CYCLES: Final = -1
"""FFFFFFFFh, the ACPI word for an unknown value, as the driver's signed number shows it."""

LARGEST_ENERGY: Final = 500_000_000
LARGEST_CHARGE: Final = 100_000_000
MOST_HEALTH: Final = 200
"""Bounds of what a pack can be (µWh, µAh, percent), far above any notebook's: common practice is
up to 100 Wh. A health worked out from numbers beyond them would be a number without a meaning."""


@frozen
class Capacity:
    """What a pack tells in one unit, energy (µWh) or charge (µAh)."""

    full: Reading[int]
    full_design: Reading[int]
    now: Reading[int]
    largest: int

    @property
    def is_told(self) -> bool:
        """The pack has at least one number in this unit, readable or not."""
        readings = (self.full, self.full_design, self.now)
        return any(not isinstance(reading, Absent) for reading in readings)

    @property
    def is_whole(self) -> bool:
        """Both numbers that a health needs were read."""
        return isinstance(self.full, Value) and isinstance(self.full_design, Value)


def find_batteries(tree: KernelTree) -> Listing:
    """The places of all packs that feed the unit, empty bays that the kernel shows included."""
    return find_supplies(tree, is_own_pack)


def is_own_pack(supply: Supply) -> bool:
    """A pack that sits in the unit itself, and not in a mouse, a pen or a keyboard dock."""
    return supply.supply_type == "Battery" and explain_peripheral(supply) is None


def read_battery(tree: KernelTree, place: str) -> Battery:
    """One pack; of an empty bay everything but `present` is absent."""
    tell = ask_supply(tree, place)
    present = understand(tell("present"), "0 or 1", FLAGS.get)
    if isinstance(present, Value) and not present.value:
        tell = _tell_of_empty_bay(present.sources)
    energy = _read_capacity(tell, "energy", LARGEST_ENERGY)
    charge = _read_capacity(tell, "charge", LARGEST_CHARGE)
    energy_shown = energy if energy.is_told or not charge.is_told else _other(energy, "charge")
    charge_shown = charge if charge.is_told or not energy.is_told else _other(charge, "energy")
    control = read_charge_control(tree, tell)
    return Battery(
        place=place,
        label=label_of(place),
        position=_position(tree, place),
        present=present,
        status=leave_out_unknown(tell("status")),
        manufacturer=sort_text(tell("manufacturer"), "PortableBattery/Manufacturer"),
        model=sort_text(tell("model_name"), "PortableBattery/Name"),
        serial=sort_text(tell("serial_number"), "PortableBattery/Serial Number"),
        technology=leave_out_unknown(tell("technology")),
        cycle_count=_read_cycles(tell),
        energy_full_uwh=energy_shown.full,
        energy_full_design_uwh=energy_shown.full_design,
        energy_now_uwh=energy_shown.now,
        charge_full_uah=charge_shown.full,
        charge_full_design_uah=charge_shown.full_design,
        charge_now_uah=charge_shown.now,
        capacity_percent=_number(tell, "capacity"),
        health_percent=_work_out_health(energy, charge),
        voltage_now_uv=_number(tell, "voltage_now"),
        voltage_min_design_uv=_number(tell, "voltage_min_design"),
        temperature_millicelsius=read_cell_heat(tell),
        capacity_level=leave_out_unknown(tell("capacity_level")),
        charge_start_percent=control.start,
        charge_end_percent=control.end,
        charge_behaviour=control.behaviour,
        charge_type=control.way,
        charge_held=control.held,
    )


def _tell_of_empty_bay(sources: tuple[str, ...]) -> Tell:
    absent = Absent(reason="no pack is in this bay", sources=sources)
    return lambda _name: absent


def _position(tree: KernelTree, place: str) -> Position:
    """A pack that feeds the unit sits in it, unless a USB or PCI port on the way says outside."""
    found = read_position(tree, place)
    return Position.EXTERNAL if found is Position.EXTERNAL else Position.INTERNAL


def _number(tell: Tell, name: str) -> Reading[int]:
    return understand(tell(name), "a whole number", parse_whole)


def _read_cycles(tell: Tell) -> Reading[int]:
    """The count; 0 stands for "not available" (sysfs-class-power), also in a new pack."""
    cycles = _number(tell, "cycle_count")
    if isinstance(cycles, Value) and cycles.value in {0, UNKNOWN_CYCLES}:
        reason = f"{cycles.value} is read: no full cycle yet, or the firmware counts none"
        return Absent(reason=reason, sources=cycles.sources)
    return cycles


def _read_capacity(tell: Tell, unit: str, largest: int) -> Capacity:
    return Capacity(
        full=_number(tell, f"{unit}_full"),
        full_design=_number(tell, f"{unit}_full_design"),
        now=_number(tell, f"{unit}_now"),
        largest=largest,
    )


def _other(capacity: Capacity, unit: str) -> Capacity:
    """The numbers of the unit that a pack does not use, with that as their reason."""

    def absent(reading: Reading[int]) -> Absent:
        return Absent(reason=f"the pack reports {unit}", sources=reading.sources)

    return Capacity(
        full=absent(capacity.full),
        full_design=absent(capacity.full_design),
        now=absent(capacity.now),
        largest=capacity.largest,
    )


def _work_out_health(energy: Capacity, charge: Capacity) -> Reading[int]:
    """100 x full / design, rounded down, out of one unit's pair; above 100 in many new packs."""
    candidates = [capacity for capacity in (energy, charge) if capacity.is_whole]
    candidates += [capacity for capacity in (energy, charge) if capacity.is_told]
    pair = next(iter(candidates), energy)
    full, design = pair.full, pair.full_design
    if not isinstance(full, Value):
        return full
    if not isinstance(design, Value):
        return design
    for reading, lowest in ((design, 1), (full, 0)):
        if not lowest <= reading.value <= pair.largest:
            wanted = f"{lowest} to {pair.largest}"
            return not_understood(reading.sources[0], wanted, str(reading.value))
    percent = 100 * full.value // design.value
    if percent > MOST_HEALTH:
        wanted = f"at most {MOST_HEALTH} % of design"
        return not_understood(full.sources[0], wanted, f"{percent} %")
    return Value(value=percent, sources=full.sources + design.sources)


READERS: Final = (
    Reader(kind="battery", find=find_batteries, read=read_battery),
    *adapter.READERS,
    *peripheral_battery.READERS,
)
