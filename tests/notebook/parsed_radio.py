"""What iw tells of the Wi-Fi radios: each with its first interface and its address."""

import re
from typing import Final

from notebook.opinions import ToolOutput

RADIO: Final = re.compile(r"phy#(\d+)((?:\n\t.*)*)")
INTERFACE: Final = re.compile(r"\tInterface (\S+)\n(?:\t\t.*\n)*?\t\taddr (\S+)")
WIPHY: Final = re.compile(r"^Wiphy (\S+)$", re.MULTILINE)


def parse_radios(output: ToolOutput) -> dict[str, tuple[str, str]]:
    """Interface and address by radio (`iw dev`); the interface that was made first."""
    return {
        f"phy{number}": interfaces[-1]
        for number, block in RADIO.findall(output.text)
        if (interfaces := INTERFACE.findall(block))
    }


def interfaces_by_radio(output: ToolOutput) -> dict[str, str]:
    """The interface of each radio (`iw dev`)."""
    return {phy: interface for phy, (interface, _) in parse_radios(output).items()}


def list_radios(output: ToolOutput) -> tuple[str, ...]:
    """The radios themselves (`iw phy`)."""
    return tuple(WIPHY.findall(output.text))
