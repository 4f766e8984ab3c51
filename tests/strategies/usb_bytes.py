"""USB descriptors byte by byte (USB 2.0, section 9.6; CCID 1.1, table 5.1-1)."""

from collections.abc import Iterable
from struct import pack

from closeout.decode.usb_descriptors import UsbDescriptors, UsbEndpoint, UsbInterface


def build_descriptors(device: UsbDescriptors) -> bytes:
    """The file `descriptors` of a device whose interfaces are grouped by configuration."""
    raw = pack(
        "<BBHBBBBHHHBBBB",
        18,
        1,
        0x0200,
        *device.device_triple,
        64,
        device.vendor,
        device.product,
        device.release,
        1,
        2,
        3,
        1,
    )
    for number in dict.fromkeys(one.configuration for one in device.interfaces):
        inside = [one for one in device.interfaces if one.configuration == number]
        body = b"".join(map(build_interface, inside))
        raw += pack("<BBHBBBBB", 9, 2, 9 + len(body) & 0xFFFF, len(inside), number, 0, 0x80, 50)
        raw += body
    return raw


def build_interface(one: UsbInterface) -> bytes:
    """An interface, its class's descriptors, its endpoints."""
    head = bytes([9, 4, one.number, one.alternate, len(one.endpoints), *one.triple, 0])
    return head + b"".join(one.others) + b"".join(map(build_endpoint, one.endpoints))


def build_endpoint(one: UsbEndpoint) -> bytes:
    """An endpoint of 64 bytes."""
    return bytes([7, 5, one.address, one.transfer]) + pack("<HB", 64, 1)


def build_ccid(
    *, release: int = 0x0110, slots: int = 1, voltages: int = 7, protocols: int = 3
) -> bytes:
    """The functional descriptor of a smart card reader."""
    return (
        pack("<BBHBBI", 54, 0x21, release, slots - 1, voltages, protocols)
        + pack("<IIBIIB", 4000, 4000, 0, 10752, 10752, 0)
        + pack("<IIIII", 254, 0, 0, 0x20000, 271)
        + pack("<BBHBB", 0xFF, 0xFF, 0, 0, 1)
    )


def card_reader(contact: bytes, number: int = 0) -> UsbDescriptors:
    """A device with one interface of the smart card class."""
    return UsbDescriptors(
        vendor=0xFE24,
        product=0x0A20,
        release=0x0110,
        device_triple=(0, 0, 0),
        interfaces=smart_card_interfaces([contact], number),
    )


def smart_card_interfaces(others: Iterable[bytes], number: int = 0) -> tuple[UsbInterface, ...]:
    """That interface, with what its class says about it."""
    interface = UsbInterface(
        configuration=1,
        number=number,
        alternate=0,
        triple=(0x0B, 0, 0),
        endpoints=(UsbEndpoint(address=0x81, transfer=2), UsbEndpoint(address=0x02, transfer=2)),
        others=tuple(others),
    )
    return (interface,)
