"""Where independent tools say otherwise than `closeout show`, field by field.

`disagreements(inventory, outputs)` is empty where every claim of every tool is met, or differs as
`known_differences.KNOWN` says with its reason.
"""

from collections import Counter
from collections.abc import Callable, Iterator, Mapping
from typing import Any, Final

from notebook import (
    claims_buses,
    claims_camera,
    claims_display,
    claims_drives,
    claims_firmware,
    claims_health,
    claims_identity,
    claims_input,
    claims_memory,
    claims_networks,
    claims_ports,
    claims_power,
    claims_processor,
    claims_radio,
    claims_sensors,
    claims_sound,
    claims_time,
)
from notebook.known_differences import KNOWN
from notebook.opinions import ToolOutput
from notebook.shown import Claim, Shown

Claims = Callable[[Shown, Mapping[str, ToolOutput]], Iterator[Claim]]

INPUT_TOOLS: Final = ("input-devices", "evtest", "udevadm-properties")
CLAIMS: Final[Mapping[Claims, tuple[str, ...]]] = {
    claims_identity.dmidecode_claims: ("dmidecode",),
    claims_identity.udevadm_identity_claims: ("udevadm-attributes", "dmidecode"),
    claims_firmware.firmware_claims: ("efi-variables",),
    claims_firmware.licence_claims: ("acpidump", "iasl"),
    claims_firmware.memory_claims: ("free",),
    claims_memory.copied_memory_claims: ("udevadm-memory",),
    claims_processor.lsmem_claims: ("lsmem",),
    claims_processor.lscpu_claims: ("lscpu",),
    claims_processor.tpm_claims: ("tpm2", "tpm2-registers"),
    claims_processor.announcement_claims: ("acpidump",),
    claims_processor.udevadm_tpm_claims: ("udevadm-tpm",),
    claims_drives.nvme_claims: ("nvme-id-ctrl",),
    claims_drives.nvme_size_claims: ("nvme-id-ns",),
    claims_drives.smartctl_claims: ("smartctl",),
    claims_drives.lsblk_claims: ("lsblk",),
    claims_drives.udevadm_drive_claims: ("udevadm-properties",),
    claims_health.nvme_health_claims: ("nvme-smart-log",),
    claims_health.smartctl_health_claims: ("smartctl-health",),
    claims_health.lspci_link_claims: ("lspci-links", "lspci", "nvme-smart-log"),
    claims_health.sata_link_claims: ("dmesg-sata", "udevadm-properties"),
    claims_health.controller_claims: ("lspci",),
    claims_health.behind_controller_claims: ("udevadm-properties", "lspci"),
    claims_display.edid_claims: ("edid-decode",),
    claims_display.udevadm_display_claims: ("udevadm-attributes",),
    claims_power.udevadm_power_claims: ("udevadm-properties",),
    claims_power.psutil_claims: ("psutil", "iw-dev"),
    claims_power.udevadm_charge_claims: ("udevadm-measured",),
    claims_sensors.udevadm_chip_claims: ("udevadm-measured",),
    claims_sensors.udevadm_iio_claims: ("udevadm-measured",),
    claims_sensors.sensors_claims: ("sensors",),
    claims_sensors.psutil_sensor_claims: ("psutil",),
    claims_radio.iw_claims: ("iw-dev",),
    claims_radio.iw_phy_claims: ("iw-phy",),
    claims_radio.rfkill_claims: ("rfkill",),
    claims_radio.network_claims: ("ip-link", "ethtool-address", "ethtool-driver", "iw-dev"),
    claims_radio.udevadm_radio_claims: ("udevadm-properties", "iw-dev"),
    claims_radio.bluetooth_claims: ("lsusb-tree",),
    claims_radio.bluetooth_id_claims: ("lsusb", "lsusb-tree"),
    claims_networks.wired_claims: ("udevadm-properties",),
    claims_networks.address_claims: ("ip-link", "ethtool-address", "iw-dev"),
    claims_networks.rule_claims: ("iw-reg",),
    claims_ports.usb_port_claims: ("lsusb", "lsusb-tree"),
    claims_ports.usb_release_claims: ("lsusb", "lsusb-tree"),
    claims_ports.type_c_claims: ("udevadm-parts",),
    claims_ports.part_claims: ("udevadm-parts",),
    claims_buses.lspci_claims: ("lspci",),
    claims_buses.lsusb_claims: ("lsusb", "lsusb-tree"),
    claims_buses.lsusb_tree_claims: ("lsusb-tree",),
    claims_buses.udevadm_bus_claims: ("udevadm-properties",),
    claims_buses.camera_claims: ("v4l2-ctl",),
    claims_input.input_list_claims: INPUT_TOOLS,
    claims_input.udevadm_input_claims: INPUT_TOOLS,
    claims_input.evtest_claims: INPUT_TOOLS,
    claims_input.udevadm_input_file_claims: (*INPUT_TOOLS, "udevadm-attributes"),
    claims_input.udevadm_input_bus_claims: ("udevadm-properties", "udevadm-attributes"),
    claims_sound.stream_claims: ("aplay", "arecord"),
    claims_sound.card_claims: ("aplay", "arecord"),
    claims_sound.sound_driver_claims: ("lspci",),
    claims_sound.jack_claims: ("evtest", "aplay"),
    claims_sound.codec_claims: ("codec-text",),
    claims_sound.codec_attribute_claims: ("codec-attributes",),
    claims_camera.video_claims: ("v4l2-ctl",),
    claims_camera.udevadm_camera_claims: ("udevadm-properties",),
    claims_camera.shutter_claims: ("evtest", "v4l2-ctl"),
    claims_camera.card_reader_claims: ("lsusb", "lsusb-tree"),
    claims_time.hwclock_claims: ("hwclock",),
    claims_time.dmesg_claims: ("dmesg",),
    claims_time.link_claims: ("lspci-errors",),
}
"""Who says what, and whose words it takes."""


def all_claims(
    inventory: Mapping[str, Any], outputs: Mapping[str, ToolOutput]
) -> tuple[Claim, ...]:
    """Every claim of the tools that were asked."""
    shown = Shown(inventory)
    return tuple(
        claim
        for claims, needed in CLAIMS.items()
        if outputs.keys() >= set(needed)
        for claim in claims(shown, outputs)
    )


def disagreements(inventory: Mapping[str, Any], outputs: Mapping[str, ToolOutput]) -> list[str]:
    """A line for each claim that is neither met nor a known difference."""
    return [
        claim.as_line()
        for claim in all_claims(inventory, outputs)
        if not claim.agrees and not any(known.covers(claim) for known in KNOWN)
    ]


def compared(claims: tuple[Claim, ...]) -> Counter[str]:
    """How many fields each tool was compared in."""
    return Counter(claim.tool for claim in claims)
