"""What iw, rfkill, ip, ethtool and lsusb say of the radios, beside what is shown."""

import json
import re
from collections.abc import Iterator, Mapping
from typing import Final

from notebook.opinions import ToolOutput
from notebook.parsed_radio import interfaces_by_radio, list_radios, parse_radios
from notebook.parsed_text import labelled, parts_by_device
from notebook.parsed_udev import of_subsystem
from notebook.parsed_usb import UsbPort, parse_descriptors, parse_tree
from notebook.shown import Claim, Shown, ShownDevice

KINDS: Final = {"wlan": "wifi", "bluetooth": "bluetooth"}
BLOCKED: Final = {"blocked": True, "unblocked": False}
ADDED: Final = 0b11
"""The two lowest bits of an address's first byte: a group's, and one given locally (IEEE 802)."""
WIRELESS: Final = "Wireless"
"""What lsusb calls the class of Bluetooth controllers."""
ON_PCI: Final = re.compile(r"\w{4}:\w\w:\w\w\.\w")


def iw_claims(shown: Shown, outputs: Mapping[str, ToolOutput]) -> Iterator[Claim]:
    """Which radios there are, with interface and address."""
    tool = "iw-dev"
    radios = parse_radios(outputs[tool])
    yield shown.which(tool, "wifi", radios)
    for phy, (interface, address) in radios.items():
        told: dict[str, object] = {"interface": interface, "mac": address}
        yield from shown.device("wifi", phy).claims(tool, told)


def iw_phy_claims(shown: Shown, outputs: Mapping[str, ToolOutput]) -> Iterator[Claim]:
    """Which radios there are, with an interface or without."""
    yield shown.which("iw-phy", "wifi", list_radios(outputs["iw-phy"]))


def rfkill_claims(shown: Shown, outputs: Mapping[str, ToolOutput]) -> Iterator[Claim]:
    """What is blocked, by software and by a switch."""
    tool = "rfkill"
    switches = json.loads(outputs[tool].text)["rfkilldevices"]
    for word, kind in KINDS.items():
        found = [switch for switch in switches if switch["type"] == word]
        yield shown.which(tool, kind, tuple(switch["device"] for switch in found))
        for switch in found:
            told: dict[str, object] = {
                "soft_blocked": BLOCKED[switch["soft"]],
                "hard_blocked": BLOCKED[switch["hard"]],
            }
            yield from shown.device(kind, switch["device"]).claims(tool, told)


def network_claims(shown: Shown, outputs: Mapping[str, ToolOutput]) -> Iterator[Claim]:
    """The address that the interface has, the one that it was made with, and its driver."""
    links = {link["ifname"]: link for link in json.loads(outputs["ip-link"].text)}
    permanent = parts_by_device(outputs["ethtool-address"])
    drivers = {
        name: labelled(text) for name, text in parts_by_device(outputs["ethtool-driver"]).items()
    }
    for phy, name in interfaces_by_radio(outputs["iw-dev"]).items():
        radio = shown.device("wifi", phy)
        yield from radio.claims("ip-link", {"mac": links[name]["address"]})
        address = labelled(permanent[name])["Permanent address"]
        told = {"mac": address, "mac_sound": _soundness(address)}
        yield from radio.claims("ethtool-address", told)
        yield from radio.claims("ethtool-driver", {"driver": drivers[name]["driver"]})
    for driver in drivers.values():
        if ON_PCI.fullmatch(driver.get("bus-info", "")):
            function = shown.device("pci_device", driver["bus-info"])
            yield from function.claims("ethtool-driver", {"driver": driver["driver"]})


def udevadm_radio_claims(shown: Shown, outputs: Mapping[str, ToolOutput]) -> Iterator[Claim]:
    """The driver by udev, and that a radio without a bus has no ids of one."""
    tool = "udevadm-properties"
    radios = {name: phy for phy, name in interfaces_by_radio(outputs["iw-dev"]).items()}
    for place, properties in of_subsystem(outputs[tool], "net").items():
        if properties.get("DEVTYPE") == "wlan":
            told: dict[str, object] = {"driver": properties["ID_NET_DRIVER"]}
            if place.startswith("/devices/virtual/"):
                told["bus_id"] = None
            yield from shown.device("wifi", radios[properties["INTERFACE"]]).claims(tool, told)


def bluetooth_claims(shown: Shown, outputs: Mapping[str, ToolOutput]) -> Iterator[Claim]:
    """The driver of each controller on USB."""
    tool = "lsusb-tree"
    for port in _bluetooth_ports(outputs):
        driver = port.drivers[port.classes.index(WIRELESS)]
        yield from _behind(shown, port).claims(tool, {"driver": driver})


def bluetooth_id_claims(shown: Shown, outputs: Mapping[str, ToolOutput]) -> Iterator[Claim]:
    """The ids of each controller on USB."""
    tool = "lsusb"
    ids = {(one.bus, one.number): one.ids for one in parse_descriptors(outputs[tool])}
    for port in _bluetooth_ports(outputs):
        yield from _behind(shown, port).claims(tool, {"bus_id": ids[port.bus, port.number]})


def _bluetooth_ports(outputs: Mapping[str, ToolOutput]) -> list[UsbPort]:
    return [port for port in parse_tree(outputs["lsusb-tree"]) if WIRELESS in port.classes]


def _behind(shown: Shown, port: UsbPort) -> ShownDevice:
    """The controller on that port."""
    found = [one for one in shown.devices("bluetooth") if f"/{port.label}/" in one.place]
    return found[0] if found else shown.device("bluetooth", f"on {port.label}")


def _soundness(address: str) -> str:
    return "universal" if not int(address[:2], 16) & ADDED else "not universal"
