"""What psutil, pyudev and py-cpuinfo answer about a drawn machine, and what udev keeps of its disk.

The fields are those that the libraries have; only the ones that are compared carry a meaning.
"""

import json
from collections.abc import Mapping

from strategies.drawn_tree import Content


def draw_memory(total_kib: int) -> bytes:
    """The answer to `psutil virtual_memory`; psutil gives bytes."""
    total = total_kib * 1024
    return _json({"available": total // 2, "percent": 50.0, "total": total, "used": total // 2})


def draw_interfaces(addresses: Mapping[str, str]) -> bytes:
    """The answer to `psutil net_if_addrs`: one hardware address for each interface."""
    return _json({name: [address] for name, address in addresses.items()})


def draw_charge(percent: float | None) -> bytes:
    """The answer to `psutil sensors_battery`; None where it sees no pack."""
    told = {"percent": percent, "power_plugged": True, "secsleft": -2}
    return _json(None if percent is None else told)


def draw_sensors(**chips: Mapping[str, float]) -> bytes:
    """The answer to `psutil sensors_temperatures` and `psutil sensors_fans`."""
    return _json(
        {
            chip: [{"current": current, "label": label} for label, current in sensors.items()]
            for chip, sensors in chips.items()
        }
    )


def draw_disk(name: str, model: str | None, serial: str | None) -> dict[str, str | None]:
    """One entry of the answer to `pyudev block`."""
    return {"ID_MODEL": model, "ID_SERIAL_SHORT": serial, "name": name}


def draw_disks(*disks: Mapping[str, str | None]) -> bytes:
    """The answer to `pyudev block`."""
    return _json(disks)


def draw_processor(model: str) -> bytes:
    """The answer to `cpuinfo get_processor_brand`."""
    return _json({"brand": model})


def draw_udev_file(model: str, serial: str) -> Content:
    """The file under `run/udev/data` of a disk."""
    return f"I:1000000\nE:ID_MODEL={model}\nE:ID_SERIAL_SHORT={serial}\nG:systemd\n".encode()


def _json(answer: object) -> bytes:
    return json.dumps(answer, sort_keys=True).encode()
