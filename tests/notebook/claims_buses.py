"""What lspci, lsusb, v4l2-ctl and udevadm say of the buses, beside what is shown."""

import re
from collections.abc import Iterator, Mapping
from typing import Final

from notebook.opinions import ToolOutput
from notebook.parsed_text import labelled, parts_by_device
from notebook.parsed_udev import of_subsystem, properties_by_place, unescaped
from notebook.parsed_usb import UsbTold, parse_descriptors, parse_tree
from notebook.shown import Claim, Shown, ShownDevice

NAMED: Final = re.compile(r"(.*) \[(\w{4})\]")
UNLISTED: Final = frozenset({"Vendor", "Device"})
"""What lspci prints of ids that its list does not have."""
NO_DRIVER: Final = "[none]"
HUB_DRIVER: Final = "hub"


def lspci_claims(shown: Shown, outputs: Mapping[str, ToolOutput]) -> Iterator[Claim]:
    """Every function: its ids, names, class and driver."""
    tool = "lspci"
    functions = [labelled(record) for record in outputs[tool].text.strip().split("\n\n")]
    yield shown.which(tool, "pci_device", tuple(told["Slot"] for told in functions))
    for told in functions:
        yield from shown.device("pci_device", told["Slot"]).claims(tool, _function(told))


def lsusb_claims(shown: Shown, outputs: Mapping[str, ToolOutput]) -> Iterator[Claim]:
    """Every device: ids, strings, classes, speed; which port it is on says the tree."""
    tree = {(port.bus, port.number): port.label for port in parse_tree(outputs["lsusb-tree"])}
    devices = parse_descriptors(outputs["lsusb"])
    labels = tuple(tree[one.bus, one.number] for one in devices)
    yield shown.which("lsusb", "usb_device", labels)
    for label, one in zip(labels, devices, strict=True):
        yield from shown.device("usb_device", label).claims("lsusb", _usb_device(one))


def lsusb_tree_claims(shown: Shown, outputs: Mapping[str, ToolOutput]) -> Iterator[Claim]:
    """Every device: speed, and the drivers of its interfaces."""
    tool = "lsusb-tree"
    ports = parse_tree(outputs[tool])
    yield shown.which(tool, "usb_device", tuple(port.label for port in ports))
    for port in ports:
        bound = tuple(sorted({driver for driver in port.drivers if driver != NO_DRIVER}))
        told: dict[str, object] = {"speed_mbit": port.speed_mbit, "drivers": bound}
        if bound:
            told["unbound"] = False
        yield from shown.device("usb_device", port.label).claims(tool, told)


def udevadm_bus_claims(shown: Shown, outputs: Mapping[str, ToolOutput]) -> Iterator[Claim]:
    """Every function and every USB device as udev's database has it."""
    tool = "udevadm-properties"
    for place, properties in of_subsystem(outputs[tool], "pci").items():
        label = place.rsplit("/", 1)[-1]
        yield from shown.device("pci_device", label).claims(tool, _pci_properties(properties))
    for place, properties in of_subsystem(outputs[tool], "usb").items():
        if properties["DEVTYPE"] == "usb_device":
            told = _usb_properties(properties) | {"drivers": _drivers(place, outputs[tool])}
            label = place.rsplit("/", 1)[-1]
            yield from shown.device("usb_device", label).claims(tool, told)


def camera_claims(shown: Shown, outputs: Mapping[str, ToolOutput]) -> Iterator[Claim]:
    """The USB device behind each camera: its driver, name, serial number and release."""
    tool = "v4l2-ctl"
    for text in parts_by_device(outputs[tool]).values():
        fields = labelled(text)
        at = fields["Bus info"].removeprefix("usb-")
        revision = int(fields["Hardware revision"].split()[0], 16)
        told: dict[str, object] = {
            "drivers": (fields["Driver name"],),
            "product_name": fields["Card type"],
            "serial": fields["Serial"] or None,
            "firmware": _release(f"{revision:04x}"),
        }
        yield from _at_port(shown, at).claims(tool, told)


def _at_port(shown: Shown, at: str) -> ShownDevice:
    """The USB device at `0000:00:06.0-6`: a controller and a path of ports."""
    controller, _, ports = at.rpartition("-")
    for device in shown.devices("usb_device"):
        if f"/{controller}/" in device.place and device.label.endswith(f"-{ports}"):
            return device
    return shown.device("usb_device", at)


def _function(told: Mapping[str, str]) -> dict[str, object]:
    names = {field: NAMED.fullmatch(text) for field, text in told.items() if field != "Slot"}
    words = {field: found[1] for field, found in names.items() if found}
    ids = {field: found[2] for field, found in names.items() if found}
    driver = told.get("Driver")
    return {
        "ids": f"{ids['Vendor']}:{ids['Device']}",
        "subsystem_ids": f"{ids['SVendor']}:{ids['SDevice']}" if "SVendor" in ids else None,
        "class_code": ids["Class"] + told.get("ProgIf", "00"),
        "vendor_name": None if words["Vendor"] in UNLISTED else words["Vendor"],
        "device_name": None if words["Device"] in UNLISTED else words["Device"],
        "driver": driver,
    } | ({"unbound": False} if driver else {})


def _usb_device(told: UsbTold) -> dict[str, object]:
    return {
        "ids": told.ids,
        "vendor_name": told.maker or told.vendor,
        "product_name": told.name or told.product,
        "serial": told.serial,
        "device_class": f"{told.device_class:02x}",
        "interface_classes": tuple(
            "/".join(f"{part:02x}" for part in one) for one in told.interfaces
        ),
        "speed_mbit": told.speed_mbit,
        "firmware": told.release,
    }


def _pci_properties(told: Mapping[str, str]) -> dict[str, object]:
    return {
        "ids": told["PCI_ID"].lower(),
        "subsystem_ids": told["PCI_SUBSYS_ID"].lower(),
        "class_code": told["PCI_CLASS"].lower().zfill(6),
        "vendor_name": told.get("ID_VENDOR_FROM_DATABASE"),
        "driver": told.get("DRIVER"),
    }


def _usb_properties(told: Mapping[str, str]) -> dict[str, object]:
    interfaces = told["ID_USB_INTERFACES"].strip(":").split(":")
    return {
        "ids": f"{told['ID_VENDOR_ID']}:{told['ID_MODEL_ID']}",
        "vendor_name": unescaped(told["ID_VENDOR_ENC"]),
        "product_name": unescaped(told["ID_MODEL_ENC"]),
        "serial": told.get("ID_SERIAL_SHORT"),
        "device_class": f"{int(told['TYPE'].split('/')[0]):02x}",
        "interface_classes": tuple(f"{one[:2]}/{one[2:4]}/{one[4:]}" for one in interfaces),
        "firmware": _release(told["ID_REVISION"]),
    }


def _drivers(place: str, output: ToolOutput) -> tuple[str, ...]:
    """The drivers of a device's interfaces, which lie one folder below it."""
    return tuple(
        sorted(
            {
                properties["DRIVER"]
                for at, properties in properties_by_place(output).items()
                if at.rsplit("/", 1)[0] == place
                and properties.get("DEVTYPE") == "usb_interface"
                and "DRIVER" in properties
            }
        )
    )


def _release(digits: str) -> str:
    """The release `0110` as people write it: 1.10."""
    return f"{int(digits[:2])}.{digits[2:]}"
