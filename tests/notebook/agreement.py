"""Where independent tools say otherwise than `closeout show`, field by field.

`disagreements(inventory, outputs)` is empty where every claim of every tool is met, or differs as
`known_differences.KNOWN` says with its reason.
"""

from collections import Counter
from collections.abc import Callable, Iterator, Mapping
from typing import Any, Final

from notebook import (
    claims_buses,
    claims_display,
    claims_drives,
    claims_firmware,
    claims_identity,
    claims_memory,
    claims_power,
    claims_processor,
    claims_radio,
)
from notebook.known_differences import KNOWN
from notebook.opinions import ToolOutput
from notebook.shown import Claim, Shown

Claims = Callable[[Shown, Mapping[str, ToolOutput]], Iterator[Claim]]

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
    claims_display.edid_claims: ("edid-decode",),
    claims_display.udevadm_display_claims: ("udevadm-attributes",),
    claims_power.udevadm_power_claims: ("udevadm-properties",),
    claims_power.psutil_claims: ("psutil", "iw-dev"),
    claims_radio.iw_claims: ("iw-dev",),
    claims_radio.iw_phy_claims: ("iw-phy",),
    claims_radio.rfkill_claims: ("rfkill",),
    claims_radio.network_claims: ("ip-link", "ethtool-address", "ethtool-driver", "iw-dev"),
    claims_radio.udevadm_radio_claims: ("udevadm-properties", "iw-dev"),
    claims_radio.bluetooth_claims: ("lsusb-tree",),
    claims_radio.bluetooth_id_claims: ("lsusb", "lsusb-tree"),
    claims_buses.lspci_claims: ("lspci",),
    claims_buses.lsusb_claims: ("lsusb", "lsusb-tree"),
    claims_buses.lsusb_tree_claims: ("lsusb-tree",),
    claims_buses.udevadm_bus_claims: ("udevadm-properties",),
    claims_buses.camera_claims: ("v4l2-ctl",),
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
