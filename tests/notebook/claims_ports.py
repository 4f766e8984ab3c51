"""What lsusb and udevadm say of USB ports, Type-C ports and parts on inner buses."""

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Final

from notebook.opinions import ToolOutput
from notebook.parsed_udev import ATTRIBUTE, PLACE
from notebook.parsed_usb import parse_descriptors, parse_tree
from notebook.shown import Claim, Shown

PROPERTY: Final = re.compile(r'    (DRIVER|SUBSYSTEM|MODALIAS)=="(.*)"')
CHOSEN: Final = re.compile(r".*\[(\w+)\].*")
NO_PART: Final = re.compile(
    r"LNX\w+|device|ACPI00(04|07|10|13)|PNP0(0\d\d|100|103|200|800)|PNP0A\d\d"
)
LAID_OUT: Final = re.compile(r"PNP0C(01|02|04|08|0F)|PNP0D80")
"""Ids of how firmware is laid out, which are nobody's part."""
SUPER_SPEED_MBIT: Final = 5000


@dataclass(frozen=True, slots=True, kw_only=True)
class Walked:
    """What udevadm says of one device: attributes, driver and subsystem."""

    place: str
    told: Mapping[str, str]

    @property
    def name(self) -> str:
        """Its name in the kernel."""
        return self.place.rsplit("/", 1)[-1]


def parse_walk(output: ToolOutput) -> tuple[Walked, ...]:
    """Every device that was walked."""
    found: dict[str, dict[str, str]] = {}
    told: dict[str, str] = {}
    for line in output.text.split("\n"):
        if place := PLACE.fullmatch(line):
            told = found.setdefault(place[1], {})
        elif attribute := ATTRIBUTE.fullmatch(line) or PROPERTY.fullmatch(line):
            told[attribute[1] or ""] = attribute[2]
    return tuple(Walked(place=place, told=told) for place, told in found.items())


def usb_port_claims(shown: Shown, outputs: Mapping[str, ToolOutput]) -> Iterator[Claim]:
    """Which ports there are, by the hubs' descriptors, and what the tree shows in them."""
    tool = "lsusb"
    tree = parse_tree(outputs["lsusb-tree"])
    labels = {(one.bus, one.number): one.label for one in tree}
    plugged = {port_of(one.label): one.label for one in tree if not one.is_root}
    ports = [
        f"{labels[one.bus, one.number]}-port{number}"
        for one in parse_descriptors(outputs[tool])
        for number in range(1, one.ports + 1)
    ]
    yield shown.which(tool, "usb_port", ports)
    for port in ports:
        yield from shown.device("usb_port", port).claims(
            "lsusb-tree", {"device": plugged.get(port)}
        )


def usb_release_claims(shown: Shown, outputs: Mapping[str, ToolOutput]) -> Iterator[Claim]:
    """The release of USB of each device, and that it does not run below what it can."""
    tool = "lsusb"
    labels = {(one.bus, one.number): one.label for one in parse_tree(outputs["lsusb-tree"])}
    for one in parse_descriptors(outputs[tool]):
        told: dict[str, object] = {"usb_version": one.usb}
        if not one.super_speed or float(one.speed_mbit) >= SUPER_SPEED_MBIT:
            told["below_ability"] = False
        yield from shown.device("usb_device", labels[one.bus, one.number]).claims(tool, told)


def type_c_claims(shown: Shown, outputs: Mapping[str, ToolOutput]) -> Iterator[Claim]:
    """Roles, power and partner of each port."""
    tool = "udevadm-parts"
    walked = {one.name: one for one in parse_walk(outputs[tool]) if "/typec/" in one.place}
    ports = [name for name in walked if "-" not in name]
    yield shown.which(tool, "type_c_port", ports)
    for name in ports:
        told, partner = walked[name].told, walked.get(f"{name}-partner")
        yield from shown.device("type_c_port", name).claims(
            tool,
            {
                "data_role": _chosen(told.get("data_role")),
                "power_role": _chosen(told.get("power_role")),
                "port_type": _chosen(told.get("port_type")),
                "orientation": told.get("orientation"),
                "operation_mode": told["power_operation_mode"],
                "delivery_revision": told["usb_power_delivery_revision"],
                "partner": partner is not None,
                "accessory": partner.told["accessory_mode"] if partner else None,
                "cable": f"{name}-cable" in walked,
            },
        )


def part_claims(shown: Shown, outputs: Mapping[str, ToolOutput]) -> Iterator[Claim]:
    """Which parts firmware describes and inner buses show, with ids and drivers."""
    tool = "udevadm-parts"
    walked = parse_walk(outputs[tool])
    described = [one for one in walked if one.told.get("SUBSYSTEM") == "acpi" and _is_part(one)]
    chips = [one for one in walked if one.told.get("SUBSYSTEM") == "i2c"]
    platform = {one.name: one for one in walked if one.told.get("SUBSYSTEM") == "platform"}
    yield shown.which(tool, "bus_device", (one.name for one in (*described, *chips)))
    for one in described:
        ids = tuple(one.told["MODALIAS"].removeprefix("acpi:").strip(":").split(":"))
        told: dict[str, object] = {"ids": ids, "firmware_path": one.told["path"]}
        if one.name in platform:
            drivers = (one.told["DRIVER"], platform[one.name].told["DRIVER"])
            driver = next(filter(None, drivers), "")
            told |= {"bus": "platform", "driver": driver or None}
            told |= {"unbound": False} if driver else {}
        yield from shown.device("bus_device", one.name).claims(tool, told)
    for one in chips:
        told = {"bus": "i2c", "ids": (one.told["name"],), "firmware_path": None}
        yield from shown.device("bus_device", one.name).claims(
            tool, told | {"driver": one.told["DRIVER"] or None, "unbound": not one.told["DRIVER"]}
        )


def _is_part(one: Walked) -> bool:
    name = one.name.partition(":")[0]
    is_laid_out = NO_PART.fullmatch(name) or LAID_OUT.fullmatch(name)
    return not is_laid_out and bool(int(one.told.get("status", "15")) & 1)


def _chosen(text: str | None) -> str | None:
    """The word in brackets, or the only word."""
    if text is None:
        return None
    found = CHOSEN.fullmatch(text)
    return found[1] if found else text


def port_of(label: str) -> str:
    """`usb1-port4` of `1-4`, `1-4-port2` of `1-4.2`."""
    hub, dotted, port = label.rpartition(".")
    if dotted:
        return f"{hub}-port{port}"
    bus, _, port = label.partition("-")
    return f"usb{bus}-port{port}"
