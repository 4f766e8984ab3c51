"""What nvme, smartctl, lspci and the kernel's log say of health, locks, links and controllers."""

import json
import re
from collections.abc import Iterator, Mapping
from typing import Any, Final

from notebook.claims_drives import drive_of
from notebook.opinions import ToolOutput
from notebook.parsed_text import labelled, parts_by_device
from notebook.parsed_udev import of_subsystem
from notebook.shown import Claim, Shown

ZERO_CELSIUS: Final = 273_150
WARNINGS: Final = (
    "spare blocks below their threshold",
    "temperature beyond a threshold",
    "reliability degraded",
    "medium is read-only",
    "backup of volatile memory failed",
    "persistent memory region unreliable",
)
NVME_COUNTS: Final = {
    "available_spare": "available_spare_percent",
    "available_spare_threshold": "spare_threshold_percent",
    "percentage_used": "percentage_used",
    "media_errors": "media_errors",
    "power_on_hours": "power_on_hours",
    "power_cycles": "power_cycles",
    "unsafe_shutdowns": "unsafe_shutdowns",
}
ATA_COUNTS: Final = {
    5: "reallocated_sectors",
    9: "power_on_hours",
    12: "power_cycles",
    197: "pending_sectors",
    198: "uncorrectable_sectors",
    199: "crc_errors",
}
KELVIN: Final = re.compile(r"\((\d+) K\)")
LINK: Final = re.compile(r"Speed ([\d.]+)GT/s(?: \(\w+\))?, Width x(\d+)")
SATA_UP: Final = re.compile(r"ata(\d+): SATA link up (\S+ Gbps)")
STORAGE: Final = re.compile(r"\[(01\w\w|0805)\]")
FUNCTION: Final = re.compile(r"\w{4}:\w\w:\w\w\.\w")
ATA_PORT: Final = re.compile(r"/ata(\d+)/")


def nvme_health_claims(shown: Shown, outputs: Mapping[str, ToolOutput]) -> Iterator[Claim]:
    """The health log of each controller, as nvme prints it."""
    tool = "nvme-smart-log"
    for name, text in parts_by_device(outputs[tool]).items():
        fields = labelled(text)
        told: dict[str, object] = {
            ours: int(fields[theirs].rstrip("%").replace(",", ""))
            for theirs, ours in NVME_COUNTS.items()
        }
        (kelvin,) = KELVIN.findall(fields["temperature"])
        told["temperature_millicelsius"] = int(kelvin) * 1000 - ZERO_CELSIUS
        told["critical_warnings"] = _warnings(int(fields["critical_warning"], 16))
        yield from shown.device("drive", name).claims(tool, told)


def smartctl_health_claims(shown: Shown, outputs: Mapping[str, ToolOutput]) -> Iterator[Claim]:
    """Health of each drive, and of a SATA drive its attributes and its lock."""
    tool = "smartctl-health"
    for name, text in parts_by_device(outputs[tool]).items():
        said: dict[str, Any] = json.loads(text)
        log = said.get("nvme_smart_health_information_log")
        told = _of_log(log) if log else _of_attributes(said)
        yield from shown.device("drive", name).claims(tool, told)


def lspci_link_claims(shown: Shown, outputs: Mapping[str, ToolOutput]) -> Iterator[Claim]:
    """Every PCI Express link, and what both its ends can by the path that leads to them."""
    tool = "lspci-links"
    ends = dict(_ends(outputs[tool].text))
    for path, (best, now) in ends.items():
        others = [other for other in ends if other.rpartition("/")[0] == path]
        other = path.rpartition("/")[0] or (others[0] if others else "")
        if other not in ends or not now:
            continue
        speed, width = min(best[0], ends[other][0][0], key=float), min(best[1], ends[other][0][1])
        told: dict[str, object] = {
            "link_speed": f"{float(now[0])} GT/s PCIe",
            "link_speed_possible": f"{float(speed)} GT/s PCIe",
            "link_width": now[1],
            "link_width_possible": width,
            "link_narrow": now[1] < width,
        }
        label = _label(path)
        yield from shown.device("pci_device", label).claims(tool, told)
        if _is_nvme(outputs["lspci"], label):
            told["link_degraded"] = told.pop("link_narrow")
            drives = parts_by_device(outputs["nvme-smart-log"])
            for drive in drives:
                yield from shown.device("drive", drive).claims(tool, told)


def sata_link_claims(shown: Shown, outputs: Mapping[str, ToolOutput]) -> Iterator[Claim]:
    """The speed at which the kernel says that each SATA drive came up."""
    tool = "dmesg-sata"
    speeds = dict(SATA_UP.findall(outputs[tool].text))
    for place in of_subsystem(outputs["udevadm-properties"], "block"):
        port = ATA_PORT.search(place)
        if port:
            drive = shown.device("drive", place.rsplit("/", 1)[-1])
            yield from drive.claims(tool, {"link_speed": speeds[port[1]]})


def controller_claims(shown: Shown, outputs: Mapping[str, ToolOutput]) -> Iterator[Claim]:
    """The functions that lspci calls storage or hosts of cards, and of these the readers."""
    tool = "lspci"
    functions = _storage_functions(outputs[tool])
    yield shown.which(tool, "storage_controller", tuple(told["Slot"] for told in functions))
    for told in functions:
        ids = [told[key].rpartition("[")[2].rstrip("]") for key in ("Vendor", "Device", "Class")]
        yield from shown.device("storage_controller", told["Slot"]).claims(
            tool,
            {
                "ids": f"{ids[0]}:{ids[1]}",
                "class_code": ids[2] + told.get("ProgIf", "00"),
                "driver": told.get("Driver"),
            },
        )
    hosts = _hosts(outputs[tool])
    yield shown.how_many(tool, "card_reader", len(hosts))
    for index, told in enumerate(hosts):
        reader = shown.at("card_reader", index)
        yield from reader.claims(tool, {"driver": told["Driver"], "bus": "mmc"})


def behind_controller_claims(shown: Shown, outputs: Mapping[str, ToolOutput]) -> Iterator[Claim]:
    """The drives and cards that udev's paths show behind each of them."""
    tool = "udevadm-properties"
    blocks = of_subsystem(outputs[tool], "block")
    for told in _storage_functions(outputs["lspci"]):
        here = f"/{told['Slot']}/"
        drives = (drive_of(place.rsplit("/", 1)[-1]) for place in blocks if here in place)
        controller = shown.device("storage_controller", told["Slot"])
        yield from controller.claims(tool, {"drives": tuple(sorted(drives))})
    for index, told in enumerate(_hosts(outputs["lspci"])):
        cards = [block for place, block in blocks.items() if f"/{told['Slot']}/" in place]
        told_card = {"has_card": bool(cards), "card": cards[0]["ID_NAME"] if cards else None}
        yield from shown.at("card_reader", index).claims(tool, told_card)


def _storage_functions(output: ToolOutput) -> list[dict[str, str]]:
    records = [labelled(record) for record in output.text.strip().split("\n\n")]
    return [told for told in records if STORAGE.search(told["Class"])]


def _hosts(output: ToolOutput) -> list[dict[str, str]]:
    """Hosts of cards that a driver serves."""
    functions = _storage_functions(output)
    return [told for told in functions if "[0805]" in told["Class"] and "Driver" in told]


def _warnings(bits: int) -> tuple[str, ...]:
    return tuple(words for bit, words in enumerate(WARNINGS) if bits >> bit & 1)


def _of_log(log: Mapping[str, Any]) -> dict[str, object]:
    told: dict[str, object] = {ours: log[theirs] for theirs, ours in NVME_COUNTS.items()}
    return told | {"critical_warnings": _warnings(log["critical_warning"]), "tells_health": True}


def _of_attributes(said: Mapping[str, Any]) -> dict[str, object]:
    raw = {row["id"]: row["raw"]["value"] for row in said["ata_smart_attributes"]["table"]}
    counts: dict[str, object] = {ours: raw.get(number) for number, ours in ATA_COUNTS.items()}
    failing = () if said["smart_status"]["passed"] else ("failing",)
    lock = said.get("ata_security", {"state": 0})  # left out for a drive that has no such lock
    return counts | {
        "tells_health": said["smart_support"]["available"],
        "critical_warnings": failing,
        "temperature_millicelsius": said["temperature"]["current"] * 1000,
        "security": () if lock["state"] == 0 else (lock["string"],),
        "locked": bool(lock.get("locked", False)),
    }


def _ends(text: str) -> Iterator[tuple[str, tuple[tuple[str, int], tuple[str, int] | None]]]:
    """Each function's path, the best that it can, and what its link is; of those with a link."""
    for part in re.split(r"\n(?=\S)", text.strip()):
        path = part.split(" ", 1)[0]
        found = {
            word: LINK.search(line)
            for line in part.split("\n")
            for word in ("LnkCap:", "LnkSta:")
            if word in line
        }
        best, now = found.get("LnkCap:"), found.get("LnkSta:")
        if best and now:
            yield path, ((best[1], int(best[2])), (now[1], int(now[2])))


def _label(path: str) -> str:
    """`0000:00:03.0/01:00.0` is the function 0000:01:00.0."""
    last = path.rpartition("/")[2]
    return last if FUNCTION.fullmatch(last) else f"{path.split(':', 1)[0]}:{last}"


def _is_nvme(output: ToolOutput, label: str) -> bool:
    records = [labelled(record) for record in output.text.strip().split("\n\n")]
    return any(told["Slot"] == label and "[0108]" in told["Class"] for told in records)
