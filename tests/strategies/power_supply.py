"""Supplies of the class power_supply, drawn as the kernel shows them."""

from collections.abc import Mapping

from hypothesis import strategies as st

from strategies.drawn_tree import Content, DrawnTree

CLASS = "sys/class/power_supply"
ACPI_PACK = "sys/devices/LNXSYSTM:00/LNXSYBUS:00/PNP0A08:00/device:1a/PNP0C0A:00/power_supply"

ENERGY_PACK: Mapping[str, Content] = {
    "type": b"Battery\n",
    "present": b"1\n",
    "status": b"Charging\n",
    "manufacturer": b"Norvik Cells\n",
    "model_name": b"NV-3S45\n",
    "serial_number": b"40718\n",
    "technology": b"Li-ion\n",
    "cycle_count": b"212\n",
    "energy_full": b"38000000\n",
    "energy_full_design": b"45000000\n",
    "energy_now": b"20000000\n",
    "capacity": b"52\n",
    "voltage_now": b"11900000\n",
    "voltage_min_design": b"11400000\n",
}
"""The pack of a virtual machine whose firmware tables were written for it; names are invented."""

CHARGE_PACK: Mapping[str, Content] = {
    "type": b"Battery\n",
    "present": b"1\n",
    "status": b"Full\n",
    "charge_full": b"4120000\n",
    "charge_full_design": b"4000000\n",
    "charge_now": b"4120000\n",
    "capacity": b"100\n",
}

EMPTY_BAY: Mapping[str, Content] = {"type": b"Battery\n", "present": b"0\n"}
MAINS: Mapping[str, Content] = {"type": b"Mains\n", "online": b"1\n"}


def drawn_supplies(**supplies: Mapping[str, Content]) -> DrawnTree:
    """A machine with these supplies by name, each behind its class link."""
    files = {
        f"{ACPI_PACK}/{name}/{file}": content
        for name, supply in supplies.items()
        for file, content in supply.items()
    }
    links = {f"{CLASS}/{name}": f"{ACPI_PACK}/{name}" for name in supplies}
    return DrawnTree(files=files, links=links, folders=(CLASS,))


microwatt_hours = st.integers(min_value=1, max_value=200_000_000)
"""Capacities of packs that exist, with room."""
