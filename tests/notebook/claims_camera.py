"""What tools say of cameras and smart card readers, beside what is shown."""

import re
from collections.abc import Iterator, Mapping
from itertools import pairwise
from typing import Final

from notebook.opinions import ToolOutput
from notebook.parsed_switches import names_with_switches
from notebook.parsed_text import labelled, parts_by_device
from notebook.parsed_udev import of_subsystem
from notebook.parsed_usb import HEAD, parse_descriptors, parse_tree
from notebook.shown import Claim, Shown, ShownDevice

CAPTURES: Final = re.compile(r"Device Caps +: 0x\w+\n\t\tVideo Capture$", re.MULTILINE)
SMART_CARD: Final = 11
CONTACT: Final = re.compile(
    r"^ +(bcdCCID|nMaxSlotIndex|bVoltageSupport|dwProtocols) +(\S+) *(.*)$", re.MULTILINE
)
VOLTAGE: Final = re.compile(r"(\d\.\d)V")


def video_claims(shown: Shown, outputs: Mapping[str, ToolOutput]) -> Iterator[Claim]:
    """Every camera with its nodes: those that give pictures, and the others."""
    tool = "v4l2-ctl"
    cameras = _nodes_by_camera(outputs[tool])
    yield shown.which(tool, "camera", [_giving(nodes)[0] for nodes in cameras.values()])
    for at, nodes in cameras.items():
        gives = _giving(nodes)
        fields = labelled(nodes[gives[0]])
        told: dict[str, object] = {
            "bus": at.split("-")[0],
            "driver": fields["Driver name"],
            "product": fields["Card type"],
            "serial": fields["Serial"] or None,
            "fitted": True,
            "capture_nodes": gives,
            "other_nodes": tuple(node for node in nodes if node not in gives),
        }
        yield from _camera(shown, nodes).claims(tool, told)


def udevadm_camera_claims(shown: Shown, outputs: Mapping[str, ToolOutput]) -> Iterator[Claim]:
    """The ids of each camera by udev, and its nodes by what udev found them to be."""
    tool = "udevadm-properties"
    for place, told in of_subsystem(outputs[tool], "video4linux").items():
        if ":capture:" in told["ID_V4L_CAPABILITIES"]:
            node = place.rsplit("/", 1)[-1]
            claimed: dict[str, object] = {
                "ids": f"{told['ID_VENDOR_ID']}:{told['ID_MODEL_ID']}",
                "product": told["ID_V4L_PRODUCT"],
                "driver": told["ID_USB_DRIVER"],
            }
            if told["ID_BUS"] == "usb":
                claimed["sensors"] = None
            yield from shown.device("camera", node).claims(tool, claimed)


def shutter_claims(shown: Shown, outputs: Mapping[str, ToolOutput]) -> Iterator[Claim]:
    """The switches of a lens cover that are on."""
    tool = "evtest"
    covers = names_with_switches(outputs[tool], {"CAMERA_LENS_COVER"}, only_on=True)
    for nodes in _nodes_by_camera(outputs["v4l2-ctl"]).values():
        yield from _camera(shown, nodes).claims(tool, {"covered_by": covers})


def card_reader_claims(shown: Shown, outputs: Mapping[str, ToolOutput]) -> Iterator[Claim]:
    """Every smart card reader, with its class descriptor as lsusb decodes it."""
    tool = "lsusb"
    tree = {(port.bus, port.number): port.label for port in parse_tree(outputs["lsusb-tree"])}
    text = outputs[tool].text
    starts = [head.start() for head in HEAD.finditer(text)]
    parts = [text[start:end] for start, end in pairwise([*starts, len(text)])]
    found: dict[str, dict[str, object]] = {}
    for one, part in zip(parse_descriptors(outputs[tool]), parts, strict=True):
        for number, triple in enumerate(one.interfaces):
            if triple[0] == SMART_CARD:
                label = f"{tree[one.bus, one.number]}:1.{number}"
                names = {"ids": one.ids, "product": one.name, "serial": one.serial}
                found[label] = names | _contact(part)
    yield shown.which(tool, "smart_card_reader", found)
    for label, told in found.items():
        yield from _reader(shown, label).claims(tool, told)


def _nodes_by_camera(output: ToolOutput) -> dict[str, dict[str, str]]:
    """What is said of each node, by the camera's port."""
    cameras: dict[str, dict[str, str]] = {}
    for node, text in parts_by_device(output).items():
        cameras.setdefault(labelled(text)["Bus info"], {})[node] = text
    return cameras


def _giving(nodes: Mapping[str, str]) -> tuple[str, ...]:
    """The nodes that give pictures."""
    return tuple(node for node, text in nodes.items() if CAPTURES.search(text))


def _camera(shown: Shown, nodes: Mapping[str, str]) -> ShownDevice:
    return shown.device("camera", _giving(nodes)[0])


def _reader(shown: Shown, label: str) -> ShownDevice:
    return shown.device("smart_card_reader", label)


def _contact(text: str) -> dict[str, object]:
    fields = {name: (number, words) for name, number, words in CONTACT.findall(text)}
    return {
        "revision": fields["bcdCCID"][0],
        "slots": int(fields["nMaxSlotIndex"][0]) + 1,
        "voltages": tuple(f"{volts} V" for volts in VOLTAGE.findall(fields["bVoltageSupport"][1])),
        "protocols": tuple(fields["dwProtocols"][1].split()),
    }
