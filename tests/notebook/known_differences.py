"""What is known of the comparison: differences with their reasons, and how much is compared.

Nothing here lets a field pass in silence: a difference is named with both its values, an attribute
that no tool tells with the reason, and a tool that finds less than ever fails.
"""

from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

from closeout.model.attribute import attributes_of
from closeout.model.hardware_errors import MachineChecks, MemoryController, PciFaults
from closeout.model.inventory import KINDS
from closeout.model.kernel_log import KernelLog
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
        tool="udevadm-properties",
        kind="card_reader",
        label="mmc0",
        attribute="card",
        told="QEMU_",
        shown="QEMU!",
        reason="udev writes _ for what it does not let into the name of a link",
    ),
)

INPUT_NAMES: Final = ("name", "bus", "ids", "driver", "inhibited")
NOT_COMPARED: Final[Mapping[tuple[str, str], str]] = {
    ("licence", "key_format"): "which characters a key has is our own rule; the key is in no file",
    ("battery", "charge_held"): "a sentence of our own; the numbers that it rests on are compared",
    ("peripheral_battery", "why_peripheral"): "a sentence of our own; udev's list is compared",
    ("temperature", "doubts"): "a judgement of our own; the temperature is compared",
    ("fan", "doubts"): "a judgement of our own; the speed is compared",
    ("accelerometer", "doubts"): "a judgement of our own; the axes are compared",
    ("light_sensor", "doubts"): "a judgement of our own; the light is compared",
    **{
        ("hinge_angle", attribute): "no driver in the image makes one; drawn in tests alone"
        for attribute in ("sensor", "seat", "angle_millidegrees")
    },
    ("backlight", "preferred"): "which of several controls to take is the kernel's written advice",
    ("touchpad", "fallback"): "our own rule, from the bus of one device and the driver of another",
    ("mouse", "fallback"): "our own rule, from the bus of one device and the driver of another",
    ("input_bus_device", "silent"): "our own rule, from which drivers are loaded",
    ("input_bus_device", "purposes"): "our own words; report descriptors have a test of their own",
    **{
        (kind, attribute): "no notebook that is recorded has one: the emulator makes none"
        for kind, names in {
            "pointing_stick": INPUT_NAMES,
            "pen": (*INPUT_NAMES, "width_millimetres", "height_millimetres"),
            "tablet_switch": (*INPUT_NAMES, "switches"),
        }.items()
        for attribute in names
    },
    **{
        ("nfc", name): "no notebook has NFC: the emulator has no such device"
        for name in ("driver", "bus_id", "soft_blocked", "hard_blocked")
    },
    ("sound_card", "long_name"): "only the file that it is read from has it",
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
    ("bluetooth", "mac"): "no tool in the image asks a controller; held against the description",
    ("bluetooth", "mac_sound"): "follows from the address",
    **{
        ("usb_port", name): "only these files of the kernel tell it, and no tool shows them"
        for name in (
            *("connect_type", "state", "peer", "location", "over_current_count", "disabled"),
        )
    },
    **{
        (kind, name): "the emulator has no such device; drawn machines are compared"
        for kind in ("wwan", "thunderbolt")
        for name in attributes_of(KINDS[kind])
    },
    ("storage_controller", "mode"): "words of our own for a class code, which is compared",
    ("storage_controller", "remapped_drives"): "only the kernel's own file counts them",
    ("storage_controller", "hides_drives"): "a conclusion of our own from class, driver and drives",
    ("card_reader", "model"): "a reader on USB has one; the emulator has no such reader",
    **dict.fromkeys(
        (
            ("clock", "chip"),
            ("clock", "kernel_clock"),
            ("clock", "read_at_microseconds"),
            ("clock", "battery_state"),
        ),
        "hwclock tells the time and that it moves, and nothing of the driver or the chip",
    ),
    **dict.fromkeys(
        (
            ("clock", "kept_time"),
            ("clock", "local_offset"),
            ("clock", "error_seconds"),
            ("clock", "reference"),
        ),
        "a judgement against a reference time: test_time_and_trouble_in_guest gives one",
    ),
    **{
        ("pci_faults", name): "lspci tells who counts, not the counts; errors are put in elsewhere"
        for name in attributes_of(PciFaults)
    },
    **{
        ("memory_controller", name): "no notebook here has memory that counts its errors"
        for name in attributes_of(MemoryController)
    },
    **{
        ("machine_checks", name): "sums of a table that no tool sums; a check is put in elsewhere"
        for name in attributes_of(MachineChecks)
    },
    **{
        ("kernel_log", name): "the log grows between the two; dmesg is compared line by line"
        for name in attributes_of(KernelLog)
    },
    **dict.fromkeys(
        (
            ("kernel_message", "times"),
            ("kernel_message", "about_device"),
            ("kernel_message", "named_by"),
            ("kernel_message", "identifiers"),
            ("kernel_message", "nature"),
            ("kernel_message", "explanation"),
        ),
        "what we make of a line; dmesg tells the line",
    ),
    ("second_opinions", "psutil_disagreements"): "a comparison itself; psutil is compared here too",
    ("second_opinions", "pyudev_disagreements"): "a comparison itself; udevadm is compared here",
    ("second_opinions", "cpuinfo_disagreements"): "a comparison itself; lscpu is compared here",
}
"""Attributes that no tool tells, with the reason."""

ONE_A_UNIT: Final = frozenset({"second_opinions", "machine_checks", "kernel_log"})
"""Sums and comparisons of our own, of which every unit has one: no tool lists such a thing."""

NO_ATTRIBUTE_YET: Final[Mapping[str, str]] = {}
"""Questions whose answers wait for a kind of device; the description is held against them."""

LEAST: Final[Mapping[str, tuple[int, int, int]]] = {
    "acpidump": (3, 3, 2),
    "aplay": (13, 13, 13),
    "arecord": (6, 6, 6),
    "codec-attributes": (4, 4, 4),
    "codec-text": (7, 7, 7),
    "dmesg": (10, 10, 10),
    "dmesg-sata": (0, 0, 1),
    "dmidecode": (82, 95, 89),
    "edid-decode": (15, 15, 15),
    "efi-variables": (3, 3, 3),
    "ethtool-address": (6, 6, 9),
    "ethtool-driver": (1, 1, 2),
    "evtest": (14, 14, 14),
    "free": (1, 1, 1),
    "hwclock": (2, 2, 2),
    "iasl": (3, 3, 3),
    "input-devices": (27, 33, 27),
    "ip-link": (2, 2, 7),
    "iw-dev": (3, 3, 3),
    "iw-phy": (1, 1, 1),
    "iw-reg": (5, 5, 5),
    "lsblk": (9, 9, 17),
    "lscpu": (6, 6, 6),
    "lsmem": (1, 1, 1),
    "lspci": (92, 92, 94),
    "lspci-errors": (1, 1, 1),
    "lspci-links": (15, 15, 10),
    "lsusb": (54, 44, 61),
    "lsusb-tree": (35, 33, 35),
    "nvme-id-ctrl": (6, 6, 0),
    "nvme-id-ns": (1, 1, 0),
    "nvme-smart-log": (9, 9, 0),
    "psutil": (8, 6, 7),
    "rfkill": (6, 6, 6),
    "sensors": (4, 2, 3),
    "smartctl": (3, 3, 5),
    "smartctl-health": (9, 9, 11),
    "tpm2": (3, 3, 1),
    "tpm2-registers": (3, 3, 0),
    "udevadm-attributes": (48, 50, 44),
    "udevadm-measured": (57, 44, 44),
    "udevadm-memory": (33, 33, 33),
    "udevadm-parts": (95, 90, 66),
    "udevadm-properties": (164, 175, 187),
    "udevadm-tpm": (2, 2, 1),
    "v4l2-ctl": (16, 16, 16),
}
"""Fields compared with each tool's answer, by notebook in the order of `RECORDED`."""

REFUSED: Final = {"dmidecode": (16, 16, 16), "lsusb-tree": (16, 14, 16)}
"""An ordinary user gets no table: so say dmidecode, and the readings that rest on it. What is in
which port needs the hubs' descriptors, which such a user does not get either."""


def least_compared(name: str, user: str) -> Counter[str]:
    """How many fields must be compared at the least, by tool; with fewer a parser has lost some."""
    table = LEAST
    if user != "root":
        table = {tool: LEAST[tool] for tool in ordinary_questions()} | REFUSED
    at = RECORDED.index(name)
    return Counter({tool: counts[at] for tool, counts in table.items()})
