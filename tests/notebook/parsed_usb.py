"""What lsusb tells of the USB devices: the tree with drivers, and every descriptor."""

import re
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import pairwise
from typing import Final

from notebook.opinions import ToolOutput

ROOT: Final = re.compile(
    r"/:  Bus (?P<bus>\d+)\.Port \d+: Dev (?P<number>\d+), Class=root_hub, "
    r"Driver=(?P<driver>[^/]*)/\d+p, (?P<speed>[\d.]+)M"
)
BRANCH: Final = re.compile(
    r"(?P<indent> +)\|__ Port (?P<port>\d+): Dev (?P<number>\d+), If \d+, Class=(?P<word>.*), "
    r"Driver=(?P<driver>[^,/]*)(?:/\d+p)?, (?P<speed>[\d.]+)M"
)
INDENT: Final = 4
HEAD: Final = re.compile(r"^Bus (\d+) Device (\d+): ID (\w{4}:\w{4})", re.MULTILINE)
SPEED: Final = re.compile(r"^Negotiated speed: .*\(([\d.]+)([MG])bps\)$", re.MULTILINE)
FIELD: Final = re.compile(r"^ *(\w+) +(\S+)(?: (.*))?$", re.MULTILINE)
SUPER_SPEED: Final = "SuperSpeed USB Device Capability:"
PORTS: Final = re.compile(r"^ *nNbrPorts +(\d+)", re.MULTILINE)
INTERFACE: Final = "    Interface Descriptor:\n"
MBIT: Final = {"M": 1, "G": 1000}


@dataclass(frozen=True, slots=True, kw_only=True)
class UsbPort:
    """A device in the tree, as the kernel names its port; a class and a driver per interface."""

    label: str
    bus: int
    number: int
    speed_mbit: str
    classes: tuple[str, ...]
    drivers: tuple[str, ...]
    is_root: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class UsbTold:
    """A device by its descriptors; names of the vendor and product come with their ids."""

    bus: int
    number: int
    ids: str
    vendor: str
    product: str
    maker: str | None
    name: str | None
    serial: str | None
    device_class: int
    release: str
    speed_mbit: str
    interfaces: tuple[tuple[int, int, int], ...]
    usb: str
    super_speed: bool
    ports: int
    """Of a hub; others have none."""


def parse_tree(output: ToolOutput) -> tuple[UsbPort, ...]:
    """Every device of `lsusb -t`, root hubs included; a line is one interface."""
    found: dict[str, UsbPort] = {}
    above: list[str] = []
    bus = 0
    for line in output.text.split("\n"):
        if root := ROOT.fullmatch(line):
            bus = int(root["bus"])
            found[f"usb{bus}"] = UsbPort(
                label=f"usb{bus}",
                bus=bus,
                number=int(root["number"]),
                speed_mbit=root["speed"],
                classes=("Hub",),
                drivers=(root["driver"],),
                is_root=True,
            )
        elif branch := BRANCH.fullmatch(line):
            depth = len(branch["indent"]) // INDENT
            above = [*above[: depth - 1], str(int(branch["port"]))]
            label = f"{bus}-{'.'.join(above)}"
            found[label] = _grown(found.get(label), label, bus, branch)
    return tuple(found.values())


def parse_descriptors(output: ToolOutput) -> tuple[UsbTold, ...]:
    """Every device of `lsusb -v`."""
    starts = [head.start() for head in HEAD.finditer(output.text)]
    return tuple(
        _told(output.text[start:end]) for start, end in pairwise([*starts, len(output.text)])
    )


def _grown(before: UsbPort | None, label: str, bus: int, branch: re.Match[str]) -> UsbPort:
    return UsbPort(
        label=label,
        bus=bus,
        number=int(branch["number"]),
        speed_mbit=branch["speed"],
        classes=(*(before.classes if before else ()), branch["word"]),
        drivers=(*(before.drivers if before else ()), branch["driver"]),
    )


def _told(text: str) -> UsbTold:
    head, speed = HEAD.search(text), SPEED.search(text)
    assert head, text
    assert speed, text
    device, *interfaces = text.split(INTERFACE)
    fields = _fields(device)
    return UsbTold(
        bus=int(head[1]),
        number=int(head[2]),
        ids=head[3],
        vendor=fields["idVendor"][1],
        product=fields["idProduct"][1],
        maker=_string(fields["iManufacturer"]),
        name=_string(fields["iProduct"]),
        serial=_string(fields["iSerial"]),
        device_class=int(fields["bDeviceClass"][0]),
        release=fields["bcdDevice"][0],
        speed_mbit=f"{float(speed[1]) * MBIT[speed[2]]:g}",
        interfaces=tuple(_interfaces(interfaces)),
        usb=fields["bcdUSB"][0],
        super_speed=SUPER_SPEED in text,
        ports=int(ports[1]) if (ports := PORTS.search(text)) else 0,
    )


def _interfaces(texts: list[str]) -> Iterator[tuple[int, int, int]]:
    """Class, subclass and protocol of each; settings beyond the first are the same interface."""
    for text in texts:
        fields = {name: number for name, (number, _) in _fields(text).items()}
        if fields["bAlternateSetting"] == "0":
            yield (
                int(fields["bInterfaceClass"]),
                int(fields["bInterfaceSubClass"]),
                int(fields["bInterfaceProtocol"]),
            )


def _fields(text: str) -> dict[str, tuple[str, str]]:
    """Number and words of each field; the first of a name counts."""
    found: dict[str, tuple[str, str]] = {}
    for name, number, words in FIELD.findall(text):
        found.setdefault(name, (number, words))
    return found


def _string(field: tuple[str, str]) -> str | None:
    number, words = field
    return None if number == "0" else words
