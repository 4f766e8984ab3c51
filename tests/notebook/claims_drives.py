"""What nvme, smartctl, lsblk and udevadm say of the drives, beside what is shown."""

import json
import re
from collections.abc import Iterator, Mapping
from typing import Final

from notebook.opinions import ToolOutput
from notebook.parsed_text import chosen, labelled, parts_by_device
from notebook.parsed_udev import of_subsystem, unescaped
from notebook.shown import Claim, Shown

CONTROLLER: Final = {"sn": "serial", "mn": "model", "fr": "firmware"}
SMARTCTL: Final = {
    "Model Number": "model",
    "Device Model": "model",
    "Serial Number": "serial",
    "Firmware Version": "firmware",
}
LSBLK: Final = {
    "model": "model",
    "serial": "serial",
    "rev": "firmware",
    "size": "size_bytes",
    "rota": "rotational",
    "rm": "removable",
    "state": "state",
    "tran": "bus",
}
BLOCK_IN_USE: Final = re.compile(r"lbads:(\d+) .*\(in use\)")
ON_PCI: Final = re.compile(r"\w{4}:\w\w:\w\w\.\w")
BUSES: Final = {"ata": "sata", "mmc": "mmc", "nvme": "nvme", "usb": "usb"}
"""The bus that udev names, and that the front of a drive's name tells where it names none."""


def nvme_claims(shown: Shown, outputs: Mapping[str, ToolOutput]) -> Iterator[Claim]:
    """Each controller's identity, and the makers' halves of its PCI ids."""
    tool = "nvme-id-ctrl"
    for name, text in parts_by_device(outputs[tool]).items():
        fields = labelled(text)
        drive = shown.device("drive", name)
        yield from drive.claims(tool, chosen(fields, CONTROLLER) | {"bus": "nvme"})
        function = shown.device("pci_device", "".join(ON_PCI.findall(drive.place)[-1:]))
        for attribute, vendor in (("ids", fields["vid"]), ("subsystem_ids", fields["ssvid"])):
            device = str(function.values.get(attribute)).partition(":")[2]
            told = f"{int(vendor, 16):04x}:{device}"
            yield from function.claims(tool, {attribute: told})


def nvme_size_claims(shown: Shown, outputs: Mapping[str, ToolOutput]) -> Iterator[Claim]:
    """The size of each drive's namespace, in blocks of the size that is in use."""
    tool = "nvme-id-ns"
    for name, text in parts_by_device(outputs[tool]).items():
        in_use = BLOCK_IN_USE.search(text)
        assert in_use, text
        size = int(labelled(text)["nsze"], 16) << int(in_use[1])
        yield from shown.device("drive", drive_of(name)).claims(tool, {"size_bytes": size})


def smartctl_claims(shown: Shown, outputs: Mapping[str, ToolOutput]) -> Iterator[Claim]:
    """Identity of each drive; a SATA drive's size and rotation too."""
    tool = "smartctl"
    for name, text in parts_by_device(outputs[tool]).items():
        fields = labelled(text)
        told = chosen(fields, SMARTCTL)
        if "User Capacity" in fields:
            told["size_bytes"] = int(fields["User Capacity"].split()[0].replace(",", ""))
        if "Rotation Rate" in fields:
            told["rotational"] = fields["Rotation Rate"] != "Solid State Device"
        yield from shown.device("drive", name).claims(tool, told)


def lsblk_claims(shown: Shown, outputs: Mapping[str, ToolOutput]) -> Iterator[Claim]:
    """Which drives there are, and a line for each of them."""
    tool = "lsblk"
    drives = json.loads(outputs[tool].text)["blockdevices"]
    yield shown.which(tool, "drive", tuple(drive_of(drive["name"]) for drive in drives))
    for drive in drives:
        told = {ours: drive[theirs] for theirs, ours in LSBLK.items()}
        yield from shown.device("drive", drive_of(drive["name"])).claims(tool, told)


def udevadm_drive_claims(shown: Shown, outputs: Mapping[str, ToolOutput]) -> Iterator[Claim]:
    """What udev's own programs asked the drives for."""
    tool = "udevadm-properties"
    for place, properties in of_subsystem(outputs[tool], "block").items():
        name = place.rsplit("/", 1)[-1]
        told: dict[str, object] = {
            "bus": BUSES[properties.get("ID_BUS", re.split(r"\d|blk", name)[0])],
            "serial": properties.get("ID_SERIAL_SHORT", properties["ID_SERIAL"]),
        }
        if "ID_REVISION" in properties:
            told["firmware"] = properties["ID_REVISION"]
        model = next(key for key in ("ID_MODEL_ENC", "ID_MODEL", "ID_NAME") if key in properties)
        told["model"] = unescaped(properties[model])
        yield from shown.device("drive", drive_of(name)).claims(tool, told)


def drive_of(name: str) -> str:
    """The drive that a block device is on: an NVMe drive goes by its controller."""
    return re.sub(r"(?<=^nvme)(\d+)n\d+$", r"\1", name)
