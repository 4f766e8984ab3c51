"""What drives say of themselves: questions that no file answers, put by a command that reads.

    nvme smart-log nvme0        the health log, 512 bytes
    opal status nvme0n1         self-encryption, 8 bytes as the kernel gives them
    ata identify sda            IDENTIFY DEVICE, 512 bytes
    ata smart sda               SMART READ DATA, 512 bytes
    ata smart-thresholds sda    SMART READ THRESHOLDS, 512 bytes
    ata smart-status sda        LBA mid and LBA high of SMART RETURN STATUS, 2 bytes

A disk that sleeps is left asleep: nothing but CHECK POWER MODE is sent to it.
"""

from __future__ import annotations

import errno
import os
import re
import stat
from collections.abc import Callable, Mapping
from typing import Final

from closeout.kernel.drive_commands import (
    COUNT,
    LBA_HIGH,
    LBA_MID,
    AtaCommand,
    read_nvme_health,
    read_opal_status,
    send_ata,
)
from closeout.kernel.failure import ReadError, Reason
from closeout.kernel.question_names import (
    ATA_IDENTIFY,
    ATA_SMART,
    ATA_STATUS,
    ATA_THRESHOLDS,
    NVME_HEALTH,
    OPAL,
)
from closeout.kernel.regular import OPEN_FLAGS, raise_as_read_error
from closeout.model.late_pattern import late_pattern

CONTROLLER: Final = late_pattern(r"nvme[0-9]{1,5}")
DISK: Final = late_pattern(r"nvme[0-9]{1,5}n[0-9]{1,5}|sd[a-z]{1,4}")
ATA_DISK: Final = late_pattern(r"sd[a-z]{1,4}")
ASLEEP: Final = frozenset({0x00, 0x01})
"""Count after CHECK POWER MODE (ACS-3, 7.3): standby, and standby_y."""
NOT_SUPPORTED: Final = 524
"""ENOTSUPP, the kernel's inner errno that got out (include/linux/errno.h)."""


def _awake(descriptor: int, command: AtaCommand) -> bytes:
    if send_ata(descriptor, AtaCommand.POWER_MODE)[COUNT] in ASLEEP:
        raise _SleepsError
    return send_ata(descriptor, command)


class _SleepsError(Exception):
    """The disk has spun down."""


def _status(descriptor: int) -> bytes:
    registers = _awake(descriptor, AtaCommand.SMART_STATUS)
    return bytes((registers[LBA_MID], registers[LBA_HIGH]))


Answer = Callable[[int], bytes]
ANSWERS: Final[Mapping[str, tuple[re.Pattern[str], Answer]]] = {
    NVME_HEALTH: (CONTROLLER, read_nvme_health),
    OPAL: (DISK, read_opal_status),
    ATA_IDENTIFY: (ATA_DISK, lambda opened: _awake(opened, AtaCommand.IDENTIFY)),
    ATA_SMART: (ATA_DISK, lambda opened: _awake(opened, AtaCommand.SMART_DATA)),
    ATA_THRESHOLDS: (
        ATA_DISK,
        lambda opened: _awake(opened, AtaCommand.SMART_THRESHOLDS),
    ),
    ATA_STATUS: (ATA_DISK, _status),
}
"""Each question with the names of devices that it may be asked of, and what answers it."""


def is_drive_question(question: str) -> bool:
    """Whether a question is one of these, about a device that it fits."""
    words, _, name = question.rpartition(" ")
    return words in ANSWERS and ANSWERS[words][0].fullmatch(name) is not None


def ask_drive(root: bytes, question: str) -> bytes:
    """The answer of the drive whose node is in `dev` below the root.

    Raises:
        ReadError: NOT_OFFERED for any other question and for what is no device node; ASLEEP for
            a disk that has spun down; else the kernel's errno.
    """
    if not is_drive_question(question):
        raise ReadError(question, errno.EOPNOTSUPP, Reason.NOT_OFFERED)
    words, _, name = question.rpartition(" ")
    try:
        opened = os.open(root + b"/dev/" + name.encode("ascii"), OPEN_FLAGS)
        try:
            mode = os.fstat(opened).st_mode
            if not (stat.S_ISBLK(mode) or stat.S_ISCHR(mode)):
                raise ReadError(question, errno.EOPNOTSUPP, Reason.NOT_OFFERED)
            return ANSWERS[words][1](opened)
        finally:
            os.close(opened)
    except _SleepsError:
        raise ReadError(question, errno.EAGAIN, Reason.ASLEEP) from None
    except OSError as failure:
        if failure.errno == NOT_SUPPORTED:
            failure.errno = errno.EOPNOTSUPP
        raise_as_read_error(question, failure)
