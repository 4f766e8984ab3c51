"""Networks but Wi-Fi: wired ports, mobile broadband, addresses and the radio rules in force."""

from __future__ import annotations

from closeout.model.attribute import Shape, about
from closeout.model.device import Device
from closeout.model.frozen import field, frozen
from closeout.model.reading import Reading


@frozen
class Wwan(Device):
    """One mobile broadband modem (kernel class wwan, or a network interface of that type)."""

    interfaces: Reading[tuple[str, ...]] = field(
        metadata=about("network interface names", Shape.TEXTS)
    )
    control_ports: Reading[tuple[str, ...]] = field(
        metadata=about("control ports of the kernel class wwan", Shape.TEXTS)
    )
    driver: Reading[str] = field(metadata=about("kernel driver"))
    bus_id: Reading[str] = field(metadata=about("bus ids vendor:device of the modem"))
    soft_blocked: Reading[bool] = field(metadata=about("blocked by software", Shape.FLAG))
    hard_blocked: Reading[bool] = field(metadata=about("blocked by switch or line", Shape.FLAG))


@frozen
class WiredNetwork(Device):
    """One wired network port: a network interface with hardware that is no radio."""

    interface: Reading[str] = field(metadata=about("network interface name", by_place=True))
    driver: Reading[str] = field(metadata=about("kernel driver"))
    bus_id: Reading[str] = field(metadata=about("bus ids vendor:device of the adapter"))
    mac: Reading[str] = field(metadata=about("permanent address of the port", personal=True))
    mac_sound: Reading[str] = field(
        metadata=about("universal, or what is wrong with the address (IEEE 802)")
    )
    current_mac: Reading[str] = field(metadata=about("address in use", personal=True))
    current_mac_origin: Reading[str] = field(
        metadata=about("where the address in use is from: permanent, random, stolen or set")
    )
    carrier: Reading[bool] = field(metadata=about("a cable with a partner is in", Shape.FLAG))
    state: Reading[str] = field(metadata=about("state of the interface (RFC 2863)"))
    speed_mbit: Reading[int] = field(
        metadata=about("negotiated speed", Shape.INTEGER, unit="Mbit/s")
    )
    duplex: Reading[str] = field(metadata=about("full or half"))


@frozen
class Addresses(Device):
    """The addresses of all network interfaces of the unit beside each other."""

    duplicates: Reading[tuple[str, ...]] = field(
        metadata=about("addresses that two parts of the unit share", Shape.TEXTS, personal=True)
    )
    passed_through: Reading[tuple[str, ...]] = field(
        metadata=about(
            "addresses of the unit that a dock or adapter has taken on", Shape.TEXTS, personal=True
        )
    )
    not_permanent: Reading[tuple[str, ...]] = field(
        metadata=about(
            "interfaces whose address in use is not the permanent one", Shape.TEXTS, personal=True
        )
    )
    unsound: Reading[tuple[str, ...]] = field(
        metadata=about(
            "permanent addresses that are no address of a maker", Shape.TEXTS, personal=True
        )
    )


@frozen
class Regulatory(Device):
    """The radio rules that the kernel keeps (cfg80211)."""

    country: Reading[str] = field(
        metadata=about("country of the rules, two letters; 00 is the world's common denominator")
    )
    is_world: Reading[bool] = field(
        metadata=about("the rules are those for any country", Shape.FLAG)
    )
    bands: Reading[tuple[str, ...]] = field(
        metadata=about("bands that the rules allow at all", Shape.TEXTS)
    )
    listen_only_bands: Reading[tuple[str, ...]] = field(
        metadata=about("bands in which the unit may not send first", Shape.TEXTS)
    )
    own_rules: Reading[tuple[str, ...]] = field(
        metadata=about("radios that bring rules of their own, with their country", Shape.TEXTS)
    )
