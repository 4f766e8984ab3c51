"""What a Bluetooth controller answers to the commands that bring it up.

Source: Bluetooth Core Specification 4.2, volume 2, part E: command packets (5.4.1), the event
"command complete" (7.7.14), the return parameters of each command (7.1 to 7.8), error codes in
volume 2, part D. The transport is that of volume 4, part B: commands are class requests, events
come on the interrupt endpoint in pieces of its packet size.
"""

from collections.abc import Iterator, Mapping
from struct import Struct, pack
from typing import Final

from notebook.description import UsbDevice

COMMAND: Final = Struct("<HB")
COMMAND_COMPLETE: Final = 0x0E
SUCCESS: Final = b"\x00"
UNKNOWN_COMMAND: Final = b"\x01"
EVENT_PACKET: Final = 64

VERSION_4_2: Final = 8
NO_MANUFACTURER: Final = 0xFFFF
"""The number that is kept for tests."""
FEATURES: Final = bytes([0x00, 0x00, 0x00, 0x00, 0x40, 0x00, 0x00, 0x00])
"""Classic without any option, and low energy (volume 2, part C, 3.3: byte 4, bit 6)."""
SUPPORTED_COMMANDS: Final = bytes(64)
"""No optional command: the host then asks for none of them."""

RETURNS: Final[Mapping[int, bytes]] = {
    0x0C03: b"",  # reset
    0x1001: pack("<BHBHH", VERSION_4_2, 1, VERSION_4_2, NO_MANUFACTURER, 1),
    0x1002: SUPPORTED_COMMANDS,
    0x1003: FEATURES,
    0x1005: pack("<HBHH", 1021, 64, 8, 1),  # sizes and numbers of the buffers
    0x0C01: b"",  # event mask
    0x0C14: bytes(248),  # name
    0x0C16: b"",  # connection timeout
    0x0C23: bytes(3),  # class of device
    0x0C38: b"\x01",  # number of inquiry access codes
    0x0C39: b"\x01\x33\x8b\x9e",  # the general one
    0x2001: b"",  # event mask of low energy
    0x2002: pack("<HB", 27, 8),  # its buffers
    0x2003: bytes(8),  # its features
    0x201C: b"\xff" * 5 + bytes(3),  # its states
}
"""What each command returns after the status: all that the kernel asks for when it comes up."""
READ_ADDRESS: Final = 0x1009


def command_answered(device: UsbDevice, command: bytes) -> Iterator[bytes]:
    """The packets of the event that follows a command; none where it is no whole command."""
    if len(command) < COMMAND.size:
        return
    opcode, length = COMMAND.unpack_from(command)
    if len(command) != COMMAND.size + length:
        return
    returned = _returned(device, opcode)
    event = pack("<BBBH", COMMAND_COMPLETE, 3 + len(returned), 1, opcode) + returned
    for start in range(0, len(event), EVENT_PACKET):
        yield event[start : start + EVENT_PACKET]


def _returned(device: UsbDevice, opcode: int) -> bytes:
    if opcode == READ_ADDRESS:
        return SUCCESS + bytes.fromhex(device.address.replace(":", ""))[::-1]
    return SUCCESS + RETURNS[opcode] if opcode in RETURNS else UNKNOWN_COMMAND
