"""What libraries say of the machine: recorded beside what our own readers found.

The questions are few and fixed, each named by its library first. Each answer is JSON as the
library gives it, keys sorted. A library is imported when it is first asked, in the process that
asks.
"""

from __future__ import annotations

import errno
import json
import os
from collections.abc import Callable, Iterable, Mapping
from importlib import import_module
from types import ModuleType
from typing import Final, cast

from closeout.kernel.failure import ReadError, Reason
from closeout.kernel.question_names import (
    BATTERY,
    DISK_PROPERTIES,
    DISKS,
    FANS,
    INTERFACES,
    MEMORY,
    PROCESSOR,
    TEMPERATURES,
)

X86: Final = ("x86_64", "i686", "i586", "i486", "i386")


def second_opinion(question: str) -> bytes:
    """The library's answer to one of `QUESTIONS`.

    Raises:
        ReadError: NOT_OFFERED for any other question, without the library or what it stands on,
            or where the library itself fails; the kernel's errno where that is why it fails.
    """
    answer = QUESTIONS.get(question)
    if answer is None:
        raise _not_offered(question)
    library, _, _ = question.partition(" ")
    try:
        return json.dumps(answer(_import(library)), sort_keys=True).encode()
    except OSError as failure:
        # The loader of shared libraries raises it too, without a number.
        if not failure.errno:
            raise _not_offered(question) from None
        raise ReadError(question, failure.errno) from None
    except Exception:  # noqa: BLE001 - whatever a foreign library raises, it has no opinion
        raise _not_offered(question) from None


def _import(library: str) -> ModuleType:
    """The library, kept from running programs when it is first imported.

    pyudev would look for libudev with ldconfig or gcc. It takes its search function then, so it
    is handed one that names the file; the loader then finds it or not. py-cpuinfo asks `platform`
    for what that asks the programs file and uname for, and needs neither answer.
    """
    import ctypes.util  # noqa: PLC0415 - brings what starts processes
    import platform  # noqa: PLC0415 - of no use where evidence is judged

    search, architecture = ctypes.util.find_library, platform.architecture
    ctypes.util.find_library = lambda name: f"lib{name}.so.1"
    platform.__dict__["architecture"] = _no_architecture
    vars(platform.uname()).setdefault("processor", "")
    try:
        return import_module(library)
    finally:
        ctypes.util.find_library = search
        platform.__dict__["architecture"] = architecture


def _no_architecture(*_: object) -> tuple[str, str]:
    return "", ""


def _not_offered(question: str) -> ReadError:
    return ReadError(question, errno.EOPNOTSUPP, Reason.NOT_OFFERED)


def _battery(library: ModuleType) -> object:
    battery = library.sensors_battery()
    return None if battery is None else battery._asdict()


def _memory(library: ModuleType) -> object:
    return library.virtual_memory()._asdict()


def _interfaces(library: ModuleType) -> object:
    """The hardware addresses alone: where the unit is in a network is nobody's business."""
    interfaces = cast("Mapping[str, list[object]]", library.net_if_addrs())
    return {name: _hardware_addresses(entries) for name, entries in interfaces.items()}


def _hardware_addresses(entries: list[object]) -> list[object]:
    from socket import AF_PACKET  # noqa: PLC0415 - of no use where evidence is judged

    return [
        getattr(entry, "address", None)
        for entry in entries
        if getattr(entry, "family", None) == AF_PACKET
    ]


def _temperatures(library: ModuleType) -> object:
    """Chip to its sensors, each with `label` and `current` in degrees."""
    return _sensors(library.sensors_temperatures())


def _fans(library: ModuleType) -> object:
    """Chip to its fans, each with `label` and `current` in revolutions a minute."""
    return _sensors(library.sensors_fans())


def _sensors(chips: object) -> object:
    found = cast("Mapping[str, list[object]]", chips)
    return {name: [_sensor(entry) for entry in entries] for name, entries in found.items()}


def _sensor(entry: object) -> dict[str, object]:
    return {name: getattr(entry, name, None) for name in ("label", "current")}


def _disks(library: ModuleType) -> object:
    """Every whole disk by its kernel name, loop and memory devices included."""
    devices = cast(
        "Iterable[object]", library.Context().list_devices(subsystem="block", DEVTYPE="disk")
    )
    return sorted((_disk(device) for device in devices), key=lambda disk: str(disk["name"]))


def _disk(device: object) -> dict[str, object]:
    path: str = getattr(device, "device_path", "")
    properties: Mapping[str, object] = getattr(device, "properties", {})
    told = {name: properties.get(name) for name in DISK_PROPERTIES}
    return {"name": path.rpartition("/")[2], **told}


def _processor(library: ModuleType) -> object:
    """The model name that the processor itself tells by its CPUID instruction.

    The library's full query would measure the clock for a second. What it does before that is run
    a few bytes of machine code, which only x86 understands; a system that forbids that (SELinux)
    gets no opinion.
    """
    if os.uname().machine not in X86:
        raise LookupError("no x86 processor")
    library.DataSource.has_sestatus = staticmethod(lambda: False)
    cpuid = library.CPUID()
    try:
        brand = cpuid.get_processor_brand(cpuid.get_max_extension_support())
    except OSError as failure:
        raise LookupError("machine code may not be run") from failure
    return {"brand": brand}


QUESTIONS: Final[Mapping[str, Callable[[ModuleType], object]]] = {
    BATTERY: _battery,
    MEMORY: _memory,
    INTERFACES: _interfaces,
    TEMPERATURES: _temperatures,
    FANS: _fans,
    DISKS: _disks,
    PROCESSOR: _processor,
}
