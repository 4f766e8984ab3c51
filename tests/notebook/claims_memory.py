"""What dmidecode and udevadm say of memory and passwords, beside what is shown."""

import re
from collections.abc import Iterator, Mapping, Sequence
from typing import Final

from notebook.opinions import ToolOutput
from notebook.parsed_text import chosen, labelled
from notebook.shown import Claim, Shown
from oracles.dmidecode import PrintedStructure

TOOL: Final = "dmidecode"
COPY: Final = "udevadm-memory"
SIZES: Final = {"kB": 1 << 10, "MB": 1 << 20, "GB": 1 << 30, "TB": 1 << 40}
NOT_SPECIFIED: Final = "Not Specified"
UNKNOWN: Final = "Unknown"
EMPTY_SOCKET: Final = "No Module Installed"
NOT_IMPLEMENTED: Final = "Not Implemented"
STATUS_OF: Final = " Password Status"

MODULE: Final = {
    "Locator": "locator",
    "Bank Locator": "bank_locator",
    "Form Factor": "form_factor",
    "Manufacturer": "manufacturer",
    "Part Number": "part_number",
    "Serial Number": "serial",
    "Asset Tag": "asset_tag",
}
NUMBERS: Final = {
    "Total Width": ("total_width_bits", "bits"),
    "Data Width": ("data_width_bits", "bits"),
    "Rank": ("rank", ""),
    "Speed": ("speed_mts", "MT/s"),
    "Configured Memory Speed": ("configured_speed_mts", "MT/s"),
}
COPIED_TEXTS: Final = {
    "LOCATOR": "locator",
    "BANK_LOCATOR": "bank_locator",
    "FORM_FACTOR": "form_factor",
    "TYPE": "memory_type",
    "MANUFACTURER": "manufacturer",
    "PART_NUMBER": "part_number",
    "SERIAL_NUMBER": "serial",
    "ASSET_TAG": "asset_tag",
}
COPIED_NUMBERS: Final = {
    "SIZE": "size_bytes",
    "TOTAL_WIDTH": "total_width_bits",
    "DATA_WIDTH": "data_width_bits",
    "SPEED_MTS": "speed_mts",
    "CONFIGURED_SPEED_MTS": "configured_speed_mts",
    "RANK": "rank",
}


def told_by(structure: PrintedStructure, names: Mapping[str, str]) -> dict[str, object]:
    """Texts of a structure under our names; one that is not specified is blank."""
    told = chosen(structure.texts, names)
    return {name: "" if value == NOT_SPECIFIED else value for name, value in told.items()}


def size_of(size: str) -> int:
    """The bytes of `8 GB` as dmidecode means it: 1024 of each step."""
    number, unit = size.split()
    return int(number) * SIZES[unit]


def number_of(text: str, unit: str) -> int:
    """The number in front of its unit."""
    found = re.fullmatch(rf"(\d+) ?{unit}", text)
    assert found, text
    return int(found[1])


def memory_claims(shown: Shown, structures: Sequence[PrintedStructure]) -> Iterator[Claim]:
    """The array (type 16) with its modules (17), and channels (37)."""
    (array,) = (one for one in structures if one.type == 16)
    modules = [one for one in structures if one.type == 17]
    channels = len([one for one in structures if one.type == 37])
    slots = int(array.texts["Number Of Devices"])
    yield shown.how_many(TOOL, "memory_module", slots)
    for index, module in enumerate(modules):
        yield from shown.at("memory_module", index).claims(TOOL, _module(module))
    fitted = [one.texts for one in modules if one.texts["Size"] != EMPTY_SOCKET]
    told = {
        "installed_bytes": sum(size_of(one["Size"]) for one in fitted),
        "fitted_modules": len(fitted),
        "slots": slots,
        "empty_slots": len(modules) - len(fitted),
        "maximum_bytes": size_of(array.texts["Maximum Capacity"]),
        "location": array.texts["Location"],
        "error_correction": array.texts["Error Correction Type"],
        "channels": channels or None,
        "one_speed": len({one["Configured Memory Speed"] for one in fitted}) == 1,
    }
    yield from shown.only("main_memory").claims(TOOL, told)


def _module(structure: PrintedStructure) -> dict[str, object]:
    """Behind its speed dmidecode tells nothing of an empty socket."""
    texts = structure.texts
    fitted = texts["Size"] != EMPTY_SOCKET
    told = told_by(structure, MODULE) | {
        "fitted": fitted,
        "size_bytes": size_of(texts["Size"]) if fitted else None,
        "memory_type": None if texts["Type"] == UNKNOWN else texts["Type"],
    }
    for label, (name, unit) in NUMBERS.items():
        if label in texts:
            told[name] = None if texts[label] == UNKNOWN else number_of(texts[label], unit)
    if fitted:
        volts, _ = texts["Configured Voltage"].split()
        told["configured_voltage_mv"] = round(float(volts) * 1000)
        told["technology"] = texts["Memory Technology"]
        rated, running = told["speed_mts"], told["configured_speed_mts"]
        assert isinstance(rated, int)
        assert isinstance(running, int)
        told["runs_slower"] = running < rated
    return told


def password_claims(shown: Shown, structures: Sequence[PrintedStructure]) -> Iterator[Claim]:
    """The passwords of type 24 that the firmware has at all."""
    statuses = {
        label.removesuffix(STATUS_OF).lower(): status
        for one in structures
        if one.type == 24
        for label, status in one.texts.items()
        if label.endswith(STATUS_OF) and status != NOT_IMPLEMENTED
    }
    kind = "firmware_password"
    yield shown.which(TOOL, kind, [f"{role} password" for role in statuses])
    for role, status in statuses.items():
        told = {
            "role": role,
            "enabled": None if status == UNKNOWN else status == "Enabled",
            "mechanism": "password",
        }
        yield from shown.device(kind, f"{role} password").claims(TOOL, told)


def copied_memory_claims(shown: Shown, outputs: Mapping[str, ToolOutput]) -> Iterator[Claim]:
    """What udev copied of the table, which an ordinary user sees too."""
    found = labelled(outputs[COPY].text, "=")
    slots = int(found["MEMORY_ARRAY_NUM_DEVICES"])
    yield shown.how_many(COPY, "memory_module", slots)
    for index in range(slots):
        prefix = f"MEMORY_DEVICE_{index}_"
        told = {
            name.removeprefix(prefix): value
            for name, value in found.items()
            if name.startswith(prefix)
        }
        yield from shown.at("memory_module", index).claims(COPY, _copied_module(told))
    sizes = [int(found.get(f"MEMORY_DEVICE_{index}_SIZE", 0)) for index in range(slots)]
    whole = {"installed_bytes": sum(sizes), "fitted_modules": len(list(filter(None, sizes)))}
    yield from shown.only("main_memory").claims(COPY, whole)


def _copied_module(found: Mapping[str, str]) -> dict[str, object]:
    told: dict[str, object] = {"fitted": found.get("PRESENT") != "0"}
    for theirs, ours in COPIED_TEXTS.items():
        value = found[theirs]
        told[ours] = {NOT_SPECIFIED: "", UNKNOWN: None}.get(value, value)
    for theirs, ours in COPIED_NUMBERS.items():
        told[ours] = int(found[theirs]) if theirs in found else None
    return told
