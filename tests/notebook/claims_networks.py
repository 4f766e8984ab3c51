"""What ip, ethtool, udevadm and iw say of wired ports, addresses and radio rules."""

import json
import re
from collections.abc import Iterator, Mapping
from typing import Final

from notebook.opinions import ToolOutput
from notebook.parsed_radio import interfaces_by_radio
from notebook.parsed_text import labelled, parts_by_device
from notebook.parsed_udev import of_subsystem
from notebook.shown import Claim, Shown

RADIO: Final = "wlan"
RULE: Final = re.compile(r"\t\((\d+) - (\d+) @ \d+\)(.*)")
COUNTRY: Final = re.compile(r"^(?:phy#(\d+).*\n)?country (\w\w):", re.MULTILINE)
LISTENING: Final = "PASSIVE-SCAN"
BANDS_MHZ: Final = {"2.4 GHz": (2400, 2500), "5 GHz": (5150, 5895), "6 GHz": (5925, 7125)}
ADDED: Final = 0b11
"""The two lowest bits of an address's first byte: a group's, and one given locally (IEEE 802)."""
NO_LINK: Final[Mapping[str, object]] = {"carrier": None, "speed_mbit": None, "duplex": None}


def wired_claims(shown: Shown, outputs: Mapping[str, ToolOutput]) -> Iterator[Claim]:
    """Which wired ports there are, by udev, and what it says of them."""
    tool = "udevadm-properties"
    ports = {
        told["INTERFACE"]: told
        for place, told in of_subsystem(outputs[tool], "net").items()
        if told.get("DEVTYPE") != RADIO and not place.startswith("/devices/virtual/")
    }
    yield shown.which(tool, "wired_network", ports)
    for name, told in ports.items():
        ids = (told[key].removeprefix("0x") for key in ("ID_VENDOR_ID", "ID_MODEL_ID"))
        yield from shown.device("wired_network", name).claims(
            tool,
            {
                "interface": name,
                "driver": told["ID_NET_DRIVER"],
                "bus_id": ":".join(ids),
            },
        )


def address_claims(shown: Shown, outputs: Mapping[str, ToolOutput]) -> Iterator[Claim]:
    """Address in use, permanent address and state of each interface, and what they say together."""
    current, permanent = _current(outputs), _permanent(outputs)
    links = {link["ifname"]: link for link in json.loads(outputs["ip-link"].text)}
    radios = interfaces_by_radio(outputs["iw-dev"]).values()
    for name in permanent.keys() - set(radios):
        port = shown.device("wired_network", name)
        told: dict[str, object] = {
            "current_mac": current[name],
            "state": links[name]["operstate"].lower(),
        }
        told |= {} if "UP" in links[name]["flags"] else NO_LINK
        yield from port.claims("ip-link", told)
        address = permanent[name]
        told = {
            "mac": address,
            "mac_sound": _soundness(address),
            "current_mac_origin": "permanent" if address == current[name] else "set",
        }
        yield from port.claims("ethtool-address", told)
    for phy, name in interfaces_by_radio(outputs["iw-dev"]).items():
        yield from shown.device("wifi", phy).claims("ip-link", {"current_mac": current[name]})
    yield from shown.only("addresses").claims("ethtool-address", _together(current, permanent))


def rule_claims(shown: Shown, outputs: Mapping[str, ToolOutput]) -> Iterator[Claim]:
    """Country, bands and where the unit may only listen."""
    tool = "iw-reg"
    text = outputs[tool].text
    domains = COUNTRY.findall(text)
    (country,) = (letters for radio, letters in domains if not radio)
    rules = RULE.findall(text.split("\n\n")[0])
    sending = _bands(rule for rule in rules if LISTENING not in rule[2])
    bands = _bands(rules)
    yield from shown.only("regulatory").claims(
        tool,
        {
            "country": country,
            "is_world": country == "00",
            "bands": bands,
            "listen_only_bands": tuple(band for band in bands if band not in sending),
            "own_rules": tuple(f"phy{radio}: {letters}" for radio, letters in domains if radio),
        },
    )


def _bands(rules: Iterator[tuple[str, str, str]] | list[tuple[str, str, str]]) -> tuple[str, ...]:
    told = [(int(start), int(end)) for start, end, _ in rules]
    return tuple(
        band
        for band, (low, high) in BANDS_MHZ.items()
        if any(start < high and end > low for start, end in told)
    )


def _current(outputs: Mapping[str, ToolOutput]) -> dict[str, str]:
    return {link["ifname"]: link["address"] for link in json.loads(outputs["ip-link"].text)}


def _permanent(outputs: Mapping[str, ToolOutput]) -> dict[str, str]:
    told = {
        name: labelled(text).get("Permanent address", "")
        for name, text in parts_by_device(outputs["ethtool-address"]).items()
    }
    return {name: address for name, address in told.items() if ":" in address}


def _together(current: Mapping[str, str], permanent: Mapping[str, str]) -> dict[str, object]:
    """Of a unit that is on no dock: what is shared is a duplicate."""
    shared = [one for one in set(permanent.values()) if [*permanent.values()].count(one) > 1]
    return {
        "duplicates": tuple(shared),
        "passed_through": (),
        "not_permanent": tuple(
            f"{name}: '{current[name]}' for '{address}'"
            for name, address in permanent.items()
            if current[name] != address
        ),
        "unsound": tuple(
            f"{name}: '{address}'"
            for name, address in permanent.items()
            if _soundness(address) != "universal"
        ),
    }


def _soundness(address: str) -> str:
    return "universal" if not int(address[:2], 16) & ADDED else "not universal"
