"""The only commands that are ever sent to a drive. Each of them reads, and none can be made up.

A command is a member of a closed list or a function without a choice; nothing here takes an
operation code, a feature or a direction from outside. Answers come as the drive's bytes.

Layouts: `struct nvme_passthru_cmd` (include/uapi/linux/nvme_ioctl.h), `struct sg_io_hdr`
(include/scsi/sg.h), `struct opal_status` (include/uapi/linux/sed-opal.h); ATA PASS-THROUGH (16)
and its sense descriptor by T10 SAT-3, sections 12.2.2 and 12.2.6, the ATA commands by T13 ACS-3,
sections 7.3, 7.12 and 7.48, Get Log Page by the NVM Express base specification. All but the
kernel's headers from memory.
"""

from __future__ import annotations

import ctypes
import errno
import fcntl
import struct
from collections.abc import Callable
from enum import Enum
from typing import Final, TypeAlias

Ioctl: TypeAlias = Callable[[int, int, bytearray], int]

NVME_ADMIN: Final = 0xC048_4E41
NVME_COMMAND: Final = struct.Struct("=BBHIIIQQ10I")
GET_LOG_PAGE: Final = 0x02
HEALTH_LOG: Final = 0x02
WHOLE_CONTROLLER: Final = 0xFFFF_FFFF
SG_IO: Final = 0x2285
SG_HEADER: Final = struct.Struct("@iiBBHIPPPIIiPBBBBHHiII0P")
FROM_DEVICE: Final = -3
NO_TRANSFER: Final = -1
SENSE_BYTES: Final = 32
OPAL_STATUS: Final = 0x8008_70EC
OPAL_ANSWER: Final = 8
BLOCK: Final = 512
OWN_TIME_LIMIT: Final = 0
"""The kernel's own: at its end the kernel resets the drive, so ours must not come before it."""
CHECK_CONDITION: Final = 0x02
SENSE_FORM: Final = 0x7F
DESCRIPTOR_FORM: Final = 0x72
FIXED_FORM: Final = 0x70
ATA_DESCRIPTOR: Final = 0x09
ABORTED: Final = frozenset({0x05, 0x0B})
"""Sense keys of a command that is not known or not allowed, to the host adapter or the drive."""
REGISTERS_TOLD: Final = b"\x00\x1d"
"""Additional sense code of fixed sense: ATA pass-through information available."""
HOST_ERRNO: Final = {0x01: errno.ENODEV, 0x03: errno.ETIMEDOUT, 0x04: errno.ENODEV}
"""Host bytes (include/scsi/scsi_status.h): no connection, out of time, no such target."""


class AtaCommand(Enum):
    """The ATA commands, each whole as it is sent.

    Byte 1 is the protocol (04h data in, 03h no data) shifted by one; byte 2 the transfer, always
    from the device (0Eh), or a request for the result registers (20h); bytes 4, 10, 12 and 14
    feature, LBA mid, LBA high and command.
    """

    IDENTIFY = bytes.fromhex("85 08 0e 00 00 00 01 00 00 00 00 00 00 00 ec 00")
    SMART_DATA = bytes.fromhex("85 08 0e 00 d0 00 01 00 00 00 4f 00 c2 00 b0 00")
    SMART_THRESHOLDS = bytes.fromhex("85 08 0e 00 d1 00 01 00 00 00 4f 00 c2 00 b0 00")
    SMART_STATUS = bytes.fromhex("85 06 20 00 da 00 00 00 00 00 4f 00 c2 00 b0 00")
    POWER_MODE = bytes.fromhex("85 06 20 00 00 00 00 00 00 00 00 00 00 00 e5 00")


READING: Final = frozenset(
    {AtaCommand.IDENTIFY, AtaCommand.SMART_DATA, AtaCommand.SMART_THRESHOLDS}
)
"""Those that answer with a block; the others answer in their result registers."""
COUNT, LBA_MID, LBA_HIGH = range(3)


def read_nvme_health(descriptor: int, ioctl: Ioctl = fcntl.ioctl) -> bytes:
    """Log page 02h of a whole NVMe controller.

    Raises:
        OSError: the kernel's errno; EIO where the controller itself refused.
    """
    answer = ctypes.create_string_buffer(BLOCK)
    dwords = BLOCK // 4 - 1
    command = NVME_COMMAND.pack(
        *(GET_LOG_PAGE, 0, 0, WHOLE_CONTROLLER, 0, 0, 0, ctypes.addressof(answer), 0, BLOCK),
        *(dwords << 16 | HEALTH_LOG, 0, 0, 0, 0, 0, OWN_TIME_LIMIT, 0),
    )
    if ioctl(descriptor, NVME_ADMIN, bytearray(command)):
        raise OSError(errno.EIO, "the controller refused the log page")
    return answer.raw


def read_opal_status(descriptor: int, ioctl: Ioctl = fcntl.ioctl) -> bytes:
    """The kernel's word on the self-encryption of the drive: four bytes of flags, four reserved.

    Raises:
        OSError: the kernel's errno; EOPNOTSUPP where the drive has no such thing.
    """
    answer = bytearray(OPAL_ANSWER)
    ioctl(descriptor, OPAL_STATUS, answer)
    return bytes(answer)


def send_ata(descriptor: int, command: AtaCommand, ioctl: Ioctl = fcntl.ioctl) -> bytes:
    """The block that the command answers with, or its registers: count, LBA mid, LBA high.

    Raises:
        TypeError: no command of the list; nothing was sent.
        OSError: the kernel's errno, or one for what the host adapter or the drive said.
    """
    if type(command) is not AtaCommand:
        raise TypeError(f"{command!r} is no command that may be sent to a drive")
    size = BLOCK if command in READING else 0
    answer = ctypes.create_string_buffer(max(size, 1))
    block = ctypes.create_string_buffer(command.value, len(command.value))
    sense = ctypes.create_string_buffer(SENSE_BYTES)
    header = bytearray(
        SG_HEADER.pack(
            *(ord("S"), FROM_DEVICE if size else NO_TRANSFER, len(block), SENSE_BYTES, 0, size),
            *(ctypes.addressof(answer), ctypes.addressof(block), ctypes.addressof(sense)),
            *(OWN_TIME_LIMIT, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0),
        )
    )
    ioctl(descriptor, SG_IO, header)
    *_, status, _masked, _message, _written, host, _driver, left, _time, _more = SG_HEADER.unpack(
        header
    )
    if host:
        raise OSError(HOST_ERRNO.get(host, errno.EIO), f"host status {host:02X}h")
    if not size:
        return _registers(sense.raw)
    if status or left:
        raise OSError(_sense_errno(status, sense.raw), f"SCSI status {status:02X}h")
    return answer.raw


def _registers(sense: bytes) -> bytes:
    """Count, LBA mid and LBA high out of sense in descriptor or in fixed form (SAT-3, 12.2.6).

    Raises:
        OSError: the drive set the error bit, or told no registers.
    """
    if sense[0] & SENSE_FORM == DESCRIPTOR_FORM and sense[8] == ATA_DESCRIPTOR:
        status, registers = sense[21], bytes((sense[13], sense[17], sense[19]))
    elif sense[0] & SENSE_FORM == FIXED_FORM and sense[12:14] == REGISTERS_TOLD:
        status, registers = sense[4], bytes((sense[6], sense[10], sense[11]))
    else:
        raise OSError(_sense_errno(CHECK_CONDITION, sense), "no result registers")
    if status & 0x01:
        raise OSError(errno.EOPNOTSUPP, f"the drive refused: ATA status {status:02X}h")
    return registers


def _sense_errno(status: int, sense: bytes) -> int:
    if status != CHECK_CONDITION:
        return errno.EIO
    key = sense[1] if sense[0] & SENSE_FORM == DESCRIPTOR_FORM else sense[2]
    return errno.EOPNOTSUPP if key & 0x0F in ABORTED else errno.EIO
