"""What udevadm and psutil say of battery, adapter, memory and addresses, beside what is shown."""

import json
from collections.abc import Iterator, Mapping
from typing import Any, Final

from notebook.opinions import ToolOutput
from notebook.parsed_radio import interfaces_by_radio
from notebook.parsed_udev import attributes_by_place, of_subsystem
from notebook.shown import Claim, Shown

TEXTS: Final = {
    "STATUS": "status",
    "MANUFACTURER": "manufacturer",
    "MODEL_NAME": "model",
    "SERIAL_NUMBER": "serial",
    "TECHNOLOGY": "technology",
}
NUMBERS: Final = {
    "CYCLE_COUNT": "cycle_count",
    "ENERGY_FULL": "energy_full_uwh",
    "ENERGY_FULL_DESIGN": "energy_full_design_uwh",
    "ENERGY_NOW": "energy_now_uwh",
    "CHARGE_FULL": "charge_full_uah",
    "CHARGE_FULL_DESIGN": "charge_full_design_uah",
    "CHARGE_NOW": "charge_now_uah",
    "CAPACITY": "capacity_percent",
    "VOLTAGE_NOW": "voltage_now_uv",
    "VOLTAGE_MIN_DESIGN": "voltage_min_design_uv",
}
PREFIX: Final = "POWER_SUPPLY_"


def udevadm_power_claims(shown: Shown, outputs: Mapping[str, ToolOutput]) -> Iterator[Claim]:
    """Every supply that is not a peripheral's own."""
    tool = "udevadm-properties"
    supplies = [
        {name.removeprefix(PREFIX): told for name, told in properties.items()}
        for properties in of_subsystem(outputs[tool], "power_supply").values()
        if properties.get(f"{PREFIX}SCOPE") != "Device"
    ]
    packs = [supply for supply in supplies if supply["TYPE"] == "Battery"]
    adapters = [supply for supply in supplies if supply["TYPE"] != "Battery"]
    yield shown.which(tool, "battery", tuple(pack["NAME"] for pack in packs))
    yield from _peripheral_claims(shown, outputs[tool])
    yield shown.which(tool, "adapter", tuple(adapter["NAME"] for adapter in adapters))
    for pack in packs:
        yield from shown.device("battery", pack["NAME"]).claims(tool, _pack(pack))
    for adapter in adapters:
        told: dict[str, object] = {
            "supply_type": adapter["TYPE"],
            "online": adapter["ONLINE"] == "1",
        }
        yield from shown.device("adapter", adapter["NAME"]).claims(tool, told)


def psutil_claims(shown: Shown, outputs: Mapping[str, ToolOutput]) -> Iterator[Claim]:
    """Memory, the charge of the first pack and the mains supply by name, the radio's address."""
    tool = "psutil"
    told: dict[str, Any] = json.loads(outputs[tool].text)
    memory = {"kernel_total_bytes": told["memory"]}
    yield from shown.only("main_memory").claims(tool, memory)
    if told["battery"]:
        percent = {"capacity_percent": int(told["battery"]["percent"])}
        yield from shown.device("battery", "BAT0").claims(tool, percent)
        online = {"online": told["battery"]["power_plugged"]}
        yield from shown.device("adapter", "AC0").claims(tool, online)
    for phy, interface in interfaces_by_radio(outputs["iw-dev"]).items():
        (address,) = told["addresses"][interface]
        yield from shown.device("wifi", phy).claims(tool, {"mac": address})


def udevadm_charge_claims(shown: Shown, outputs: Mapping[str, ToolOutput]) -> Iterator[Claim]:
    """Thresholds and settings of each own pack, out of its attributes."""
    tool = "udevadm-measured"
    for place, pack in attributes_by_place(outputs[tool]).items():
        if "/power_supply/" not in place or pack.get("type") != "Battery":
            continue
        if pack.get("scope") == "Device":
            continue
        told: dict[str, object] = {
            "charge_start_percent": _whole(pack, "charge_control_start_threshold"),
            "charge_end_percent": _whole(pack, "charge_control_end_threshold"),
            "charge_behaviour": pack.get("charge_behaviour"),
            "charge_type": pack.get("charge_types"),
            "capacity_level": pack.get("capacity_level"),
            "temperature_millicelsius": _whole(pack, "temp"),
        }
        yield from shown.device("battery", pack[""]).claims(tool, told)


def _whole(told: Mapping[str, str], name: str) -> int | None:
    return int(told[name]) if name in told else None


def _peripheral_claims(shown: Shown, output: ToolOutput) -> Iterator[Claim]:
    """Stores of energy whose scope is a device."""
    kind = "peripheral_battery"
    found = [
        {name.removeprefix(PREFIX): told for name, told in properties.items()}
        for properties in of_subsystem(output, "power_supply").values()
        if properties.get(f"{PREFIX}SCOPE") == "Device"
        and properties[f"{PREFIX}TYPE"] in {"Battery", "UPS"}
    ]
    yield shown.which("udevadm-properties", kind, [pack["NAME"] for pack in found])
    for pack in found:
        yield from shown.device(kind, pack["NAME"]).claims("udevadm-properties", _peripheral(pack))


def _peripheral(told: Mapping[str, str]) -> dict[str, object]:
    return {
        "supply_type": told["TYPE"],
        "present": told["PRESENT"] == "1",
        "online": told["ONLINE"] == "1",
        "capacity_percent": int(told["CAPACITY"]),
        "serial": told["NAME"].removeprefix("hid-").removesuffix("-battery"),
        **{
            ours: told.get(theirs)
            for theirs, ours in (
                ("STATUS", "status"),
                ("MODEL_NAME", "model"),
                ("MANUFACTURER", "manufacturer"),
                ("CAPACITY_LEVEL", "capacity_level"),
            )
        },
    }


def _pack(told: Mapping[str, str]) -> dict[str, object]:
    numbers = {
        ours: int(told[theirs]) if theirs in told else None for theirs, ours in NUMBERS.items()
    }
    full, design = numbers["energy_full_uwh"], numbers["energy_full_design_uwh"]
    return {
        "present": told["PRESENT"] == "1",
        **{ours: told[theirs] for theirs, ours in TEXTS.items()},
        **numbers,
        "health_percent": 100 * full // design if full and design else None,
    }
