"""What a card is put into or held against: smart card readers and NFC."""

from __future__ import annotations

from closeout.model.attribute import Shape, about
from closeout.model.device import Device
from closeout.model.frozen import field, frozen
from closeout.model.reading import Reading


@frozen
class Nfc(Device):
    """One controller for near-field communication (kernel class nfc)."""

    driver: Reading[str] = field(metadata=about("kernel driver"))
    bus_id: Reading[str] = field(metadata=about("bus ids vendor:product of the controller"))
    soft_blocked: Reading[bool] = field(metadata=about("blocked by software", Shape.FLAG))
    hard_blocked: Reading[bool] = field(metadata=about("blocked by switch or line", Shape.FLAG))


@frozen
class SmartCardReader(Device):
    """One USB interface of the smart card class; programs drive it, the kernel need not."""

    ids: Reading[str] = field(metadata=about("vendor:product, four hex digits each"))
    product: Reading[str] = field(metadata=about("name by its own string"))
    serial: Reading[str] = field(metadata=about("serial number of the reader", personal=True))
    revision: Reading[str] = field(
        metadata=about("release of the CCID specification that it follows", Shape.VERSION)
    )
    slots: Reading[int] = field(metadata=about("slots for cards", Shape.INTEGER))
    voltages: Reading[tuple[str, ...]] = field(
        metadata=about("voltages that it gives a card", Shape.TEXTS)
    )
    protocols: Reading[tuple[str, ...]] = field(
        metadata=about("protocols that it speaks with a card", Shape.TEXTS)
    )
