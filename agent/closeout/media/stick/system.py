"""Calls of the system that the standard library does not have: mount, unmount, switch off."""

from __future__ import annotations

import ctypes
import fcntl
import os
from pathlib import Path
from typing import Final

READ_ONLY: Final = 1
SAFE: Final = 2 | 4 | 8
"""MS_RDONLY; MS_NOSUID, MS_NODEV and MS_NOEXEC (mount(2))."""
POWER_OFF: Final = 0x4321FEDC
KEYS_TELL_US: Final = 0
"""LINUX_REBOOT_CMD_POWER_OFF and _CAD_OFF (reboot(2))."""
FLUSH_BUFFERS: Final = 0x1261
"""BLKFLSBUF: drops what the kernel keeps of a block device (linux/fs.h)."""


def mount(source: str, place: Path, kind: str, flags: int = 0, options: str = "") -> None:
    """Mounts; raises OSError."""
    arguments = [os.fsencode(one) for one in (source, place, kind)]
    _called(_library().mount(*arguments, ctypes.c_ulong(flags), os.fsencode(options)), place)


def unmount(place: Path) -> None:
    """Unmounts, when everything is written; raises OSError."""
    _called(_library().umount2(os.fsencode(place), 0), place)


def power_off() -> None:
    """Switches the machine off; comes back only where that is not possible."""
    os.sync()
    _library().reboot(POWER_OFF)


def take_the_three_keys() -> None:
    """Ctrl-Alt-Del tells the first program, and no longer starts the machine again at once."""
    _library().reboot(KEYS_TELL_US)


def forget_buffers(device: Path) -> None:
    """What is read of a device next comes from the device; raises OSError."""
    handle = os.open(device, os.O_RDONLY | os.O_CLOEXEC)
    try:
        fcntl.ioctl(handle, FLUSH_BUFFERS)
    finally:
        os.close(handle)


def _library() -> ctypes.CDLL:
    return ctypes.CDLL(None, use_errno=True)


def _called(outcome: int, place: Path) -> None:
    if outcome:
        number = ctypes.get_errno()
        raise OSError(number, os.strerror(number), str(place))
