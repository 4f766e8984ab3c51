"""The descriptors of a USB device, out of its description.

Sources: USB 2.0, chapter 9 (device, configuration, interface, endpoint, string); its Interface
Association Descriptor ECN; the video class in `usb_video`, smart cards in `usb_card_reader`. All
devices here are high-speed ones.
"""

from dataclasses import dataclass
from struct import Struct
from typing import Final

from notebook.description import UsbDevice
from notebook.usb_card_reader import CARD_CONTACT
from notebook.usb_messages import Transfer
from notebook.usb_video import (
    CONTROL_INTERFACE,
    STREAM_ENDPOINT,
    STREAM_INTERFACE,
    STREAM_INTERVAL,
    STREAM_PACKET,
    STREAMING_INTERFACE,
)

DEVICE: Final = 1
CONFIGURATION: Final = 2
STRING: Final = 3

DEVICE_LAYOUT: Final = Struct("<BBHBBBBHHHBBBB")
CONFIGURATION_LAYOUT: Final = Struct("<BBHBBBBB")
ENDPOINT_LAYOUT: Final = Struct("<BBBBHB")

RELEASE: Final = 0x0110
"""What `bcdDevice` says: version 1.10."""
ENGLISH: Final = b"\x04\x03\x09\x04"
TEXTS: Final = ("maker", "product", "serial")
LONGEST_TEXT: Final = 126
"""UTF-16 units that fit into the 255 bytes of a string descriptor."""

Triple = tuple[int, int, int]
"""Class, subclass and protocol."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Endpoint:
    """One endpoint of an interface; the top bit of the address means towards the host."""

    address: int
    transfer: Transfer
    size: int
    interval: int = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class Interface:
    """One setting of an interface with what its class says about it."""

    number: int
    alternate: int = 0
    triple: Triple
    class_specific: bytes = b""
    endpoints: tuple[Endpoint, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Outline:
    """What a kind of device is made of."""

    triple: Triple
    association: bytes = b""
    interfaces: tuple[Interface, ...]

    def settings(self, alternates: dict[int, int]) -> tuple[Interface, ...]:
        """Each interface in its present setting; 0 where none was chosen."""
        return tuple(
            interface
            for interface in self.interfaces
            if interface.alternate == alternates.get(interface.number, 0)
        )


FINGERPRINT: Final = Outline(
    triple=(0xFF, 0, 0),
    interfaces=(
        Interface(
            number=0,
            triple=(0xFF, 0, 0),
            endpoints=(
                Endpoint(address=0x81, transfer=Transfer.BULK, size=512),
                Endpoint(address=0x02, transfer=Transfer.BULK, size=512),
            ),
        ),
    ),
)
BLUETOOTH: Final = Outline(
    triple=(0xE0, 1, 1),
    interfaces=(
        Interface(
            number=0,
            triple=(0xE0, 1, 1),
            endpoints=(
                Endpoint(address=0x81, transfer=Transfer.INTERRUPT, size=64, interval=4),
                Endpoint(address=0x82, transfer=Transfer.BULK, size=512),
                Endpoint(address=0x02, transfer=Transfer.BULK, size=512),
            ),
        ),
    ),
)
CAMERA: Final = Outline(
    triple=(0xEF, 2, 1),
    association=bytes([8, 11, 0, 2, 0x0E, 3, 0, 0]),
    interfaces=(
        Interface(number=0, triple=(0x0E, 1, 0), class_specific=CONTROL_INTERFACE),
        Interface(number=STREAM_INTERFACE, triple=(0x0E, 2, 0), class_specific=STREAMING_INTERFACE),
        Interface(
            number=STREAM_INTERFACE,
            alternate=1,
            triple=(0x0E, 2, 0),
            endpoints=(
                Endpoint(
                    address=STREAM_ENDPOINT,
                    transfer=Transfer.ISO,
                    size=STREAM_PACKET,
                    interval=STREAM_INTERVAL,
                ),
            ),
        ),
    ),
)
CARD_READER: Final = Outline(
    triple=(0, 0, 0),
    interfaces=(
        Interface(
            number=0,
            triple=(0x0B, 0, 0),
            class_specific=CARD_CONTACT,
            endpoints=(
                Endpoint(address=0x01, transfer=Transfer.BULK, size=512),
                Endpoint(address=0x82, transfer=Transfer.BULK, size=512),
                Endpoint(address=0x83, transfer=Transfer.INTERRUPT, size=8, interval=10),
            ),
        ),
    ),
)
OUTLINES: Final = {
    "vendor": FINGERPRINT,
    "camera": CAMERA,
    "bluetooth": BLUETOOTH,
    "card_reader": CARD_READER,
}


def descriptor(device: UsbDevice, kind: int, index: int) -> bytes | None:
    """The descriptor that is asked for; None where the device has none of that kind."""
    if kind == DEVICE:
        return device_descriptor(device)
    if kind == CONFIGURATION and index == 0:
        return configuration_descriptor(OUTLINES[device.kind])
    if kind == STRING:
        return string_descriptor(device, index)
    return None


def device_ids(device: UsbDevice) -> tuple[int, int]:
    """Vendor and product out of `fe21:0007`."""
    vendor, product = device.ids.split(":")
    return int(vendor, 16), int(product, 16)


def device_descriptor(device: UsbDevice) -> bytes:
    """Section 9.6.1; a text that is not told has no string."""
    strings = [place if getattr(device, name) else 0 for place, name in enumerate(TEXTS, start=1)]
    triple = OUTLINES[device.kind].triple
    size = DEVICE_LAYOUT.size
    ids = device_ids(device)
    return DEVICE_LAYOUT.pack(size, DEVICE, 0x0200, *triple, 64, *ids, RELEASE, *strings, 1)


def configuration_descriptor(outline: Outline) -> bytes:
    """Section 9.6.3 with all that belongs to it: the only configuration, powered by the bus."""
    numbers = {interface.number for interface in outline.interfaces}
    body = outline.association + b"".join(map(_interface, outline.interfaces))
    size = CONFIGURATION_LAYOUT.size
    head = CONFIGURATION_LAYOUT.pack(
        size, CONFIGURATION, size + len(body), len(numbers), 1, 0, 0x80, 50
    )
    return head + body


def string_descriptor(device: UsbDevice, index: int) -> bytes | None:
    """Section 9.6.7; index 0 has the languages, of which there is one."""
    if index == 0:
        return ENGLISH
    text = getattr(device, TEXTS[index - 1]) if index <= len(TEXTS) else ""
    if not text:
        return None
    units = text.encode("utf-16-le")[: 2 * LONGEST_TEXT]
    return bytes([2 + len(units), STRING]) + units


def _interface(interface: Interface) -> bytes:
    """Sections 9.6.5 and 9.6.6: the interface, its class's descriptors, its endpoints."""
    head = bytes([9, 4, interface.number, interface.alternate, len(interface.endpoints)])
    return head + bytes([*interface.triple, 0]) + interface.class_specific + _all(interface)


def _all(interface: Interface) -> bytes:
    return b"".join(
        ENDPOINT_LAYOUT.pack(7, 5, each.address, each.transfer, each.size, each.interval)
        for each in interface.endpoints
    )
