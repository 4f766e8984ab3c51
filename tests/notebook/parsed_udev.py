"""What udevadm tells: the properties of its database, and the attributes of devices."""

import re
from typing import Final

from notebook.opinions import ToolOutput

PLACE: Final = re.compile(r"  looking at device '(.*)':")
ATTRIBUTE: Final = re.compile(r'    (?:ATTR\{(.*)\}|KERNEL)=="(.*)"')
ESCAPED: Final = re.compile(r"\\x([0-9a-f]{2})")


def properties_by_place(output: ToolOutput) -> dict[str, dict[str, str]]:
    """The properties of each device by its DEVPATH (`udevadm info --query=property`)."""
    found: dict[str, dict[str, str]] = {}
    properties: dict[str, str] = {}
    for line in output.text.split("\n"):
        name, marked, value = line.partition("=")
        if name == "DEVPATH":
            properties = found.setdefault(value, {})
        elif marked:
            properties[name] = value
    return found


def of_subsystem(output: ToolOutput, subsystem: str) -> dict[str, dict[str, str]]:
    """Those of one subsystem."""
    return {
        place: properties
        for place, properties in properties_by_place(output).items()
        if properties.get("SUBSYSTEM") == subsystem
    }


def attributes_by_place(output: ToolOutput) -> dict[str, dict[str, str]]:
    """The attributes of each device walked, its name as `""` (`udevadm info --attribute-walk`)."""
    found: dict[str, dict[str, str]] = {}
    attributes: dict[str, str] = {}
    for line in output.text.split("\n"):
        if place := PLACE.fullmatch(line):
            attributes = found.setdefault(place[1], {})
        elif attribute := ATTRIBUTE.fullmatch(line):
            attributes[attribute[1] or ""] = attribute[2]
    return found


def unescaped(text: str) -> str:
    """An `_ENC` property as it was before each space was written in hex; none at its ends."""
    return ESCAPED.sub(lambda found: chr(int(found[1], 16)), text).strip()
