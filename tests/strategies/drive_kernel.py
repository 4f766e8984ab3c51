"""A drive behind a drawn `ioctl`: it answers as the kernel does, into the memory it is shown."""

import ctypes
from collections.abc import Mapping
from dataclasses import dataclass, field

from closeout.kernel.drive_commands import (
    NVME_ADMIN,
    NVME_COMMAND,
    OPAL_STATUS,
    SG_HEADER,
    SG_IO,
    AtaCommand,
)


def descriptor_sense(*, count: int, mid: int, high: int, status: int = 0x50) -> bytes:
    """Sense data with the ATA Status Return descriptor (T10 SAT-3, section 12.2.6)."""
    sense = bytearray(32)
    sense[0], sense[1], sense[3], sense[7] = 0x72, 0x01, 0x1D, 14
    sense[8], sense[9] = 0x09, 0x0C
    sense[13], sense[17], sense[19], sense[21] = count, mid, high, status
    return bytes(sense)


def fixed_sense(*, count: int, mid: int, high: int, status: int = 0x50) -> bytes:
    """The same in fixed form."""
    sense = bytearray(32)
    sense[0], sense[2], sense[12], sense[13] = 0x70, 0x01, 0x00, 0x1D
    sense[4], sense[6], sense[10], sense[11] = status, count, mid, high
    return bytes(sense)


AWAKE = descriptor_sense(count=0xFF, mid=0x4F, high=0xC2)


@dataclass(kw_only=True)
class DrawnDrive:
    """What the drive answers; every request is kept as it was put."""

    log: bytes = bytes(512)
    nvme_status: int = 0
    opal: bytes = bytes(8)
    blocks: Mapping[AtaCommand, bytes] = field(default_factory=dict)
    sense: bytes = AWAKE
    status: int = 0
    host: int = 0
    left: int = 0
    raises: int = 0
    requests: list[tuple[int, bytes]] = field(default_factory=list)
    sent: list[bytes] = field(default_factory=list)

    def ioctl(self, _descriptor: int, request: int, argument: bytearray, /) -> int:
        """The system call."""
        self.requests.append((request, bytes(argument)))
        if self.raises:
            raise OSError(self.raises, "drawn")
        if request == NVME_ADMIN:
            ctypes.memmove(NVME_COMMAND.unpack(argument)[7], self.log, len(self.log))
            return self.nvme_status
        if request == OPAL_STATUS:
            argument[:] = self.opal
            return 0
        assert request == SG_IO
        self._pass_through(argument)
        return 0

    def _pass_through(self, argument: bytearray) -> None:
        fields = list(SG_HEADER.unpack(argument))
        block = ctypes.string_at(fields[7], fields[2])
        self.sent.append(block)
        if fields[5]:
            answer = self.blocks.get(AtaCommand(block), bytes(fields[5]))
            ctypes.memmove(fields[6], answer, fields[5])
        ctypes.memmove(fields[8], self.sense, fields[3])
        fields[13], fields[17], fields[19] = self.status, self.host, self.left
        argument[:] = SG_HEADER.pack(*fields)
