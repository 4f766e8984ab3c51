"""The descriptors of a USB device one after another, as sysfs has them in `descriptors`.

The file holds the device descriptor and each configuration with all that belongs to it; of the
lengths in it only `bLength` can be trusted (Documentation/ABI/testing/sysfs-bus-usb). Layouts:
USB 2.0, chapter 9.6; types: table 9-5.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from closeout.decode.failure import DecodeError
from closeout.model.frozen import frozen

WHAT: Final = "USB descriptors"
DEVICE: Final = 1
CONFIGURATION: Final = 2
INTERFACE: Final = 4
ENDPOINT: Final = 5
DEVICE_LENGTH: Final = 18
CONFIGURATION_LENGTH: Final = 9
INTERFACE_LENGTH: Final = 9
HEAD: Final = 2
NEEDED: Final = {CONFIGURATION: CONFIGURATION_LENGTH, INTERFACE: INTERFACE_LENGTH, ENDPOINT: 7}


@frozen
class UsbEndpoint:
    """One endpoint: the top bit of its address means towards the host."""

    address: int
    transfer: int
    """0 control, 1 isochronous, 2 bulk, 3 interrupt."""


@frozen
class UsbInterface:
    """One setting of an interface; `others` are the whole descriptors that its class defines."""

    configuration: int
    number: int
    alternate: int
    triple: tuple[int, int, int]
    endpoints: tuple[UsbEndpoint, ...]
    others: tuple[bytes, ...]


@frozen
class UsbDescriptors:
    """The device descriptor's ids and release, and every setting of every interface."""

    vendor: int
    product: int
    release: int
    device_triple: tuple[int, int, int]
    interfaces: tuple[UsbInterface, ...]


def decode_usb_descriptors(raw: bytes) -> UsbDescriptors:
    """The device of these bytes; raises DecodeError where they do not hold together."""
    if len(raw) < DEVICE_LENGTH or raw[0] != DEVICE_LENGTH or raw[1] != DEVICE:
        raise DecodeError(WHAT, 0, "do not begin with a device descriptor")
    return UsbDescriptors(
        vendor=_word(raw, 8),
        product=_word(raw, 10),
        release=_word(raw, 12),
        device_triple=(raw[4], raw[5], raw[6]),
        interfaces=tuple(_interfaces(raw)),
    )


def _descriptors(raw: bytes) -> Iterator[bytes]:
    """Each descriptor behind the device's."""
    at = DEVICE_LENGTH
    while at < len(raw):
        length = raw[at]
        if length < HEAD or at + length > len(raw):
            raise DecodeError(WHAT, at, f"a descriptor of {length} bytes, {len(raw) - at} left")
        one = raw[at : at + length]
        if length < NEEDED.get(one[1], HEAD):
            raise DecodeError(WHAT, at, f"type {one[1]} with only {length} bytes")
        yield one
        at += length


def _interfaces(raw: bytes) -> Iterator[UsbInterface]:
    configuration = 0
    head = b""
    endpoints: list[UsbEndpoint] = []
    others: list[bytes] = []
    for one in _descriptors(raw):
        match one[1]:
            case 2 | 4:  # CONFIGURATION, INTERFACE
                if head:
                    yield _interface(configuration, head, endpoints, others)
                head, endpoints, others = one if one[1] == INTERFACE else b"", [], []
                configuration = one[5] if one[1] == CONFIGURATION else configuration
            case 5:  # ENDPOINT
                endpoints.append(UsbEndpoint(address=one[2], transfer=one[3] & 0b11))
            case _:
                others.append(one)
    if head:
        yield _interface(configuration, head, endpoints, others)


def _interface(
    configuration: int, head: bytes, endpoints: list[UsbEndpoint], others: list[bytes]
) -> UsbInterface:
    return UsbInterface(
        configuration=configuration,
        number=head[2],
        alternate=head[3],
        triple=(head[5], head[6], head[7]),
        endpoints=tuple(endpoints),
        others=tuple(others),
    )


def _word(raw: bytes, at: int) -> int:
    return int.from_bytes(raw[at : at + 2], "little")
