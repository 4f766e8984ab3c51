"""Battery packs and the adapter (kernel class power_supply)."""

from closeout.model.attribute import Shape, about
from closeout.model.device import Device
from closeout.model.frozen import field, frozen
from closeout.model.reading import Reading


@frozen
class Battery(Device):
    """One pack. It reports energy (µWh) or charge (µAh), never both; the other is absent."""

    present: Reading[bool] = field(metadata=about("a pack is in this bay", Shape.FLAG))
    status: Reading[str] = field(metadata=about("Charging, Discharging, Not charging, Full"))
    manufacturer: Reading[str] = field(metadata=about("maker of the pack"))
    model: Reading[str] = field(metadata=about("model name of the pack"))
    serial: Reading[str] = field(metadata=about("serial number of the pack", personal=True))
    technology: Reading[str] = field(metadata=about("cell chemistry"))
    cycle_count: Reading[int] = field(
        metadata=about("charge cycles counted by the pack", Shape.INTEGER)
    )
    energy_full_uwh: Reading[int] = field(
        metadata=about("energy when full", Shape.INTEGER, unit="µWh")
    )
    energy_full_design_uwh: Reading[int] = field(
        metadata=about("energy when full, by design", Shape.INTEGER, unit="µWh")
    )
    energy_now_uwh: Reading[int] = field(metadata=about("energy now", Shape.INTEGER, unit="µWh"))
    charge_full_uah: Reading[int] = field(
        metadata=about("charge when full", Shape.INTEGER, unit="µAh")
    )
    charge_full_design_uah: Reading[int] = field(
        metadata=about("charge when full, by design", Shape.INTEGER, unit="µAh")
    )
    charge_now_uah: Reading[int] = field(metadata=about("charge now", Shape.INTEGER, unit="µAh"))
    capacity_percent: Reading[int] = field(
        metadata=about("how full the pack is", Shape.INTEGER, unit="%")
    )
    health_percent: Reading[int] = field(
        metadata=about("full against design, rounded down", Shape.INTEGER, unit="%")
    )
    voltage_now_uv: Reading[int] = field(
        metadata=about("voltage at the terminals", Shape.INTEGER, unit="µV")
    )
    voltage_min_design_uv: Reading[int] = field(
        metadata=about("design voltage", Shape.INTEGER, unit="µV")
    )


@frozen
class Adapter(Device):
    """An external supply: barrel plug (Mains) or USB-C (USB)."""

    supply_type: Reading[str] = field(metadata=about("Mains or USB"))
    online: Reading[bool] = field(metadata=about("the supply feeds the unit", Shape.FLAG))
