"""What is known of the comparison: differences with their reasons, and how much is compared.

Nothing here lets a field pass in silence: a difference is named with both its values, an attribute
that no tool tells with the reason, and a tool that finds less than ever fails.
"""

from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

from notebook.opinions import ordinary_questions
from notebook.shown import Claim

RECORDED: Final = ("fen-14", "skerry-13", "osier-15")


@dataclass(frozen=True, slots=True, kw_only=True)
class Known:
    """A difference that is no fault: one attribute of one device, and why both are right."""

    tool: str
    kind: str
    label: str
    attribute: str
    told: object
    shown: object
    reason: str

    def covers(self, claim: Claim) -> bool:
        """This very difference, values included."""
        return all(
            getattr(self, name) == getattr(claim, name)
            for name in ("tool", "kind", "label", "attribute", "told", "shown")
        )


KNOWN: Final = (
    *(
        Known(
            tool="lsusb-tree",
            kind="usb_device",
            label=hub,
            attribute="drivers",
            told=("xhci_hcd",),
            shown=("hub",),
            reason="for a root hub lsusb names its controller's driver, not its interface's",
        )
        for hub in ("usb1", "usb2")
    ),
    *(
        Known(
            tool="lsblk",
            kind="drive",
            label="mmcblk0",
            attribute=attribute,
            told=None,
            shown=shown,
            reason="lsblk reads `model` and `rev`; a memory card has `name` and `fwrev`",
        )
        for attribute, shown in (("model", "QEMU!"), ("firmware", "0x1"))
    ),
    Known(
        tool="udevadm-properties",
        kind="drive",
        label="mmcblk0",
        attribute="model",
        told="QEMU_",
        shown="QEMU!",
        reason="udev writes _ for what it does not let into the name of a link",
    ),
    Known(
        tool="udevadm-attributes",
        kind="display",
        label="Virtual-1",
        attribute="native_mode",
        told=None,
        shown="2256x1504",
        reason="the panel's EDID asks for it; the emulated card has too little memory for it",
    ),
)

NOT_COMPARED: Final[Mapping[tuple[str, str], str]] = {
    ("licence", "key_format"): "which characters a key has is our own rule; the key is in no file",
    **{
        ("firmware_resource", attribute): "the emulator's firmware has no resource table"
        for attribute in (
            "firmware_class",
            "firmware_type",
            "version",
            "lowest_supported_version",
            "last_attempt_version",
            "last_attempt_status",
        )
    },
    ("processor", "threads_possible"): "no tool tells what the kernel made room for",
    ("processor", "microcode"): "no tool tells it; it is in the kernel's own list of facts",
    ("processor", "core_throttle_count"): "the emulated processor counts nothing",
    ("processor", "package_throttle_count"): "the emulated processor counts nothing",
    ("pci_device", "class_words"): "words of our own for a class code, which is compared",
    ("second_opinions", "psutil_disagreements"): "a comparison itself; psutil is compared here too",
    ("second_opinions", "pyudev_disagreements"): "a comparison itself; udevadm is compared here",
    ("second_opinions", "cpuinfo_disagreements"): "a comparison itself; lscpu is compared here",
}
"""Attributes that no tool tells, with the reason."""

NO_ATTRIBUTE_YET: Final[Mapping[str, str]] = {
    "nvme-smart-log": "the inventory has a drive's identity, not its health",
    "input-devices": "the inventory lists no input devices",
    "evtest": "the inventory lists no input devices",
    "aplay": "the inventory lists no sound cards",
    "arecord": "the inventory lists no sound cards",
}
"""Questions whose answers wait for a kind of device; the description is held against them."""

LEAST: Final[Mapping[str, tuple[int, int, int]]] = {
    "acpidump": (3, 3, 2),
    "dmidecode": (82, 95, 85),
    "edid-decode": (13, 13, 13),
    "efi-variables": (3, 3, 3),
    "ethtool-address": (2, 2, 2),
    "ethtool-driver": (1, 1, 2),
    "free": (1, 1, 1),
    "iasl": (3, 3, 3),
    "ip-link": (1, 1, 1),
    "iw-dev": (3, 3, 3),
    "iw-phy": (1, 1, 1),
    "lsblk": (9, 9, 17),
    "lscpu": (6, 6, 6),
    "lsmem": (1, 1, 1),
    "lspci": (83, 83, 83),
    "lsusb": (42, 34, 34),
    "lsusb-tree": (16, 14, 14),
    "nvme-id-ctrl": (6, 6, 0),
    "nvme-id-ns": (1, 1, 0),
    "psutil": (4, 4, 4),
    "rfkill": (6, 6, 6),
    "smartctl": (3, 3, 5),
    "tpm2": (3, 3, 1),
    "tpm2-registers": (3, 3, 0),
    "udevadm-attributes": (29, 29, 29),
    "udevadm-memory": (33, 33, 33),
    "udevadm-properties": (127, 119, 122),
    "udevadm-tpm": (2, 2, 1),
    "v4l2-ctl": (8, 8, 8),
}
"""Fields compared with each tool's answer, by notebook in the order of `RECORDED`."""

REFUSED: Final = {"dmidecode": (16, 16, 16)}
"""An ordinary user gets no table: so say dmidecode, and the readings that rest on it."""


def least_compared(name: str, user: str) -> Counter[str]:
    """How many fields must be compared at the least, by tool; with fewer a parser has lost some."""
    table = LEAST
    if user != "root":
        table = {tool: LEAST[tool] for tool in ordinary_questions()} | REFUSED
    at = RECORDED.index(name)
    return Counter({tool: counts[at] for tool, counts in table.items()})
