"""Radios: Wi-Fi and Bluetooth, with driver, block state and address."""

from __future__ import annotations

from closeout.model.attribute import Shape, about
from closeout.model.device import Device
from closeout.model.frozen import field, frozen
from closeout.model.reading import Reading


@frozen
class Wifi(Device):
    """One Wi-Fi radio (kernel class ieee80211) with its first network interface."""

    interface: Reading[str] = field(metadata=about("network interface name", by_place=True))
    driver: Reading[str] = field(metadata=about("kernel driver"))
    mac: Reading[str] = field(metadata=about("permanent address of the radio", personal=True))
    mac_sound: Reading[str] = field(
        metadata=about("universal, or what is wrong with the address (IEEE 802)")
    )
    current_mac: Reading[str] = field(metadata=about("address in use", personal=True))
    bus_id: Reading[str] = field(metadata=about("bus ids vendor:device of the card"))
    soft_blocked: Reading[bool] = field(metadata=about("blocked by software", Shape.FLAG))
    hard_blocked: Reading[bool] = field(metadata=about("blocked by switch or line", Shape.FLAG))


@frozen
class Bluetooth(Device):
    """One Bluetooth controller (kernel class bluetooth)."""

    driver: Reading[str] = field(metadata=about("kernel driver"))
    mac: Reading[str] = field(metadata=about("address of the controller", personal=True))
    mac_sound: Reading[str] = field(
        metadata=about("universal, or what is wrong with the address (IEEE 802)")
    )
    bus_id: Reading[str] = field(metadata=about("bus ids vendor:product of the controller"))
    soft_blocked: Reading[bool] = field(metadata=about("blocked by software", Shape.FLAG))
    hard_blocked: Reading[bool] = field(metadata=about("blocked by switch or line", Shape.FLAG))
