"""The ACPI table (SSDT) of a notebook: its source, and the table that iasl makes of it."""

import subprocess
from collections.abc import Callable
from pathlib import Path
from typing import Final, TypeVar

from notebook import acpi_devices, acpi_power, acpi_type_c
from notebook.acpi_text import inside
from notebook.control_page import BASE, HEAD, MAGIC, PAGE_LENGTH, RESERVED, VALUES, Event, words
from notebook.description import Notebook
from notebook.usb_ports import usb_ports_source

OEM_ID: Final = "CLSOUT"
OEM_TABLE_ID: Final = "NOTEBOOK"

KERNEL_OPTIONS: Final = (RESERVED, "acpi_backlight=video")
"""Without the second the kernel registers no backlight of the firmware."""

MODULES: Final = (
    "ac",  # adapter, ACPI0003
    "battery",  # batteries, PNP0C0A
    "huawei_wmi",  # charge limits, a WMI method; needs wmi
    "button",  # lid, power and sleep button, PNP0C0D, PNP0C0C, PNP0C0E
    "evdev",  # input devices as /dev/input/event*, for whoever wants to see them pressed
    "fan",  # fan with its hwmon, PNP0C0B
    "acpi_als",  # light sensor, ACPI0008; needs industrialio and its buffers
    "video",  # backlight, LNXVIDEO, which is the name of a display node with _DOD; needs wmi
    "cros_kbd_led_backlight",  # keyboard light, GOOG0002
    "ucsi_acpi",  # Type-C port, PNP0CA0; needs typec_ucsi, typec, roles
)
"""What udev loads for these devices on Linux 6.12; the thermal zone's driver is built in, and
modules.dep tells the rest."""

Part = TypeVar("Part")


class AcpiSourceError(ValueError):
    """iasl did not make a table of the source, or had doubts; the text is what it said."""


def acpi_source(notebook: Notebook) -> str:
    """One table with the devices that the description names, the two buttons, the USB ports."""
    parts = (
        usb_ports_source(notebook.usb),
        inside("Scope (\\_SB)", (_page(notebook), *_system_bus_parts(notebook))),
        *_of(acpi_devices.thermal_zone, notebook.thermal),
        *_of(acpi_devices.backlight, notebook.backlight),
    )
    header = f'DefinitionBlock ("", "SSDT", 2, "{OEM_ID}", "{OEM_TABLE_ID}", 1)'
    return inside(header, parts) + "\n"


def compile_acpi(source: str, folder: Path) -> Path:
    """The compiled table in that folder; AcpiSourceError says what iasl found, warnings included.

    Remarks and optimisations are not asked for: they are about size and speed.
    """
    text = folder / "notebook.asl"
    text.write_text(source, "ascii")
    done = subprocess.run(
        ["iasl", "-we", "-vr", "-p", str(folder / "notebook"), str(text)],
        capture_output=True,
        text=True,
        check=False,
        timeout=60,
    )
    if done.returncode:
        raise AcpiSourceError(f"{done.stdout}{done.stderr}")
    return text.with_suffix(".aml")


def _system_bus_parts(notebook: Notebook) -> tuple[str, ...]:
    return (
        acpi_devices.BUTTONS,
        *(acpi_power.battery(*numbered) for numbered in enumerate(notebook.battery.values())),
        *_of(acpi_power.charge_limits, notebook.charge_limits),
        *_of(acpi_power.adapter, notebook.adapter),
        *_of(acpi_devices.lid, notebook.lid),
        *_of(acpi_devices.fan, notebook.fan),
        *_of(acpi_devices.light_sensor, notebook.light_sensor),
        *_of(acpi_devices.keyboard_light, notebook.keyboard_light),
        *_of(acpi_devices.touchpad_line, notebook.touchpad_line),
        *_of(acpi_type_c.type_c, notebook.type_c),
        *(acpi_devices.undriven(*numbered) for numbered in enumerate(notebook.undriven)),
    )


def _of(write: Callable[[Part], str], part: Part | None) -> tuple[str, ...]:
    return () if part is None else (write(part),)


def _page(notebook: Notebook) -> str:
    """The control page, and LIVE: whether it is there; a new page also raises its notifications.

    Every value asks LIVE first, so that a new page is seen when the kernel next reads anything;
    with a thermal zone that is soon, since the kernel polls the temperature.
    """
    magic, sequence, seen = (word.name for word in HEAD)
    raising = inside(f"If ({sequence} != {seen})", (f"{seen} = {sequence}", *_raised(notebook)))
    absent = f"If ({magic} != {MAGIC:#x}) {{ Return (0) }}"
    return "\n".join(
        (
            f"OperationRegion (CTLP, SystemMemory, {BASE:#x}, {PAGE_LENGTH:#x})",
            inside("Field (CTLP, ByteAcc, NoLock, Preserve)", _fields(len(notebook.battery))),
            inside("Method (LIVE, 0, Serialized)", (absent, raising, "Return (1)")),
        )
    )


def _fields(batteries: int) -> tuple[str, ...]:
    return tuple(
        f"Offset ({word.offset:#04x}), {word.name}, {word.width * 8}," for word in words(batteries)
    )


def _raised(notebook: Notebook) -> tuple[str, ...]:
    """What a new page makes the firmware do, for each event that this notebook can have."""
    bays = range(len(notebook.battery))
    told = [(Event.BATTERY_STATE, f"Notify (BAT{bay}, 0x80)") for bay in bays]
    told += [(Event.BATTERY_INFO, f"Notify (BAT{bay}, 0x81)") for bay in bays]
    told += [(Event.POWER_BUTTON, "Notify (PWRB, 0x80)")]
    told += [(Event.SLEEP_BUTTON, "Notify (SLPB, 0x80)")]
    if notebook.lid:
        told.append((Event.LID, "Notify (LID0, 0x80)"))
    if notebook.adapter:
        told.append((Event.ADAPTER, "Notify (AC0, 0x80)"))
    if notebook.light_sensor:
        told.append((Event.LIGHT, "Notify (ALSD, 0x80)"))
    if notebook.type_c:
        told.append((Event.TYPE_C, acpi_type_c.PORT_1_CHANGED))
    word = VALUES["notify"].name
    return tuple(f"If ({word} & {event.value}) {{ {raised} }}" for event, raised in told)
