"""What the drawn notebook has of ports, parts of its firmware, and radio rules."""

from collections.abc import Iterable

from strategies.drawn_tree import Content
from strategies.netlink import domain, done, rule
from strategies.notebook_cards import RADIO, RADIO_ADDRESS, USB, text

SOCKETS = (1, 2)
NODES = "sys/devices/LNXSYSTM:00/LNXSYBUS:00"
BLUETOOTH_ADDRESS = "3c:1a:9e:40:62:d8"
PARTS = {"PNP0C0A:00": "battery", "PNP0C0D:00": "button"}


def draw_ports(files: dict[str, Content], links: dict[str, str], wired: Iterable[str]) -> None:
    """Two sockets, and a port for each device (`1-5`) that is wired inside."""
    inside = f"{USB}/usb1/1-0:1.0"
    kinds = dict.fromkeys(SOCKETS, "hotplug")
    kinds |= {int(device.partition("-")[2]): "hardwired" for device in wired}
    for number, kind in kinds.items():
        port = f"{inside}/usb1-port{number}"
        files[f"{port}/connect_type"] = text(kind)
        files[f"{port}/over_current_count"] = text(0)
        if kind == "hardwired":
            links[f"{port}/device"] = f"{USB}/usb1/1-{number}"


def draw_parts(files: dict[str, Content], links: dict[str, str]) -> None:
    """What the firmware describes: parts with a driver, and one that is not there."""
    for name, driver in PARTS.items():
        node = f"{NODES}/{name}"
        links[f"sys/bus/acpi/devices/{name}"] = node
        links[f"{node}/driver"] = f"sys/bus/acpi/drivers/{driver}"
        links[f"{node}/subsystem"] = "sys/bus/acpi"
        files[f"{node}/status"] = text(31)
        files[f"{node}/path"] = text(f"\\_SB_.{name[:4]}")
        files[f"{node}/modalias"] = text(f"acpi:{name.partition(':')[0]}:")
    links["sys/bus/acpi/devices/PNP0C50:00"] = f"{NODES}/PNP0C50:00"
    files[f"{NODES}/PNP0C50:00/status"] = text(0)


def draw_rules(files: dict[str, Content], answers: dict[str, Content]) -> None:
    """The rules of a country, in which the unit may send first, and the radios' own addresses."""
    bands = (rule(2_400_000, 2_483_000), rule(5_170_000, 5_250_000))
    answers["nl80211 regulatory"] = domain("DE", bands) + done()
    answers["net permanent-address wlan0"] = text(RADIO_ADDRESS)
    answers["bluetooth address hci0"] = text(BLUETOOTH_ADDRESS)
    if f"{RADIO}/net/wlan0/address" in files:
        files[f"{RADIO}/net/wlan0/type"] = text(1)
