"""The machine made ready: its file systems, and a driver for every device that has one.

Nothing here opens a block device, and nothing is mounted of one: no swap, no array, no volume
group, no automount. What udev's own rules read of a disk they read only (`blkid`).
"""

from __future__ import annotations

import os
import subprocess
from collections.abc import Callable
from contextlib import suppress
from pathlib import Path
from typing import Final

from closeout.media.stick.system import READ_ONLY, SAFE, mount
from closeout.model.frozen import frozen

NO_SET_ID: Final = 2
UDEV: Final = "/usr/lib/systemd/systemd-udevd"
UDEVADM: Final = "/usr/bin/udevadm"
MODPROBE: Final = "/sbin/modprobe"
ENVIRONMENT: Final = {"PATH": "/usr/local/sbin:/usr/local/bin:/usr/sbin:/usr/bin:/sbin:/bin"}
RUN_WITHIN: Final = 60
LOOKS: Final = 8
LOOK_SECONDS: Final = 15
"""How long is waited for drivers: two minutes at most, since one that hangs must not stop all."""
STILL_WAITING: Final = "Still waiting for the unit's devices: {} s."
PRINTK: Final = Path("/proc/sys/kernel/printk")
QUIET: Final = "1\n"
"""Of the kernel's log only what stops it reaches the consoles, where people read and type."""

NOTHING_TO_LOAD: Final = (
    *("bdi", "clockevents", "clocksource", "cpuid", "event_source", "machinecheck", "mem"),
    *("memory", "msr", "tty", "vc", "vtconsole", "workqueue"),
)
"""Subsystems whose devices need no driver of a module, and of which no reader asks udev. They are
half of all devices: a machine of 32 GB has two hundred blocks of memory alone.
"""

Say = Callable[[str], None]


@frozen
class Mount:
    """One of the kernel's own file systems, and where it belongs."""

    kind: str
    place: str
    flags: int = SAFE
    options: str = ""


MOUNTS: Final = (
    Mount(kind="proc", place="/proc"),
    Mount(kind="sysfs", place="/sys"),
    Mount(kind="devtmpfs", place="/dev", flags=NO_SET_ID, options="mode=0755"),
    Mount(kind="devpts", place="/dev/pts", flags=NO_SET_ID, options="mode=0620,gid=5"),
    Mount(kind="tmpfs", place="/dev/shm", options="mode=1777"),  # noqa: S108 - the system's own
    Mount(kind="tmpfs", place="/run", flags=NO_SET_ID, options="mode=0755"),
    Mount(kind="tmpfs", place="/tmp", options="mode=1777"),  # noqa: S108 - the system's own
)
FIRMWARE_VARIABLES: Final = Mount(
    kind="efivarfs", place="/sys/firmware/efi/efivars", flags=SAFE | READ_ONLY
)


def mount_all(say: Say) -> None:
    """The kernel's file systems, where they are not mounted yet."""
    for one in MOUNTS:
        _mount(one, say)
    with suppress(OSError):
        PRINTK.write_text(QUIET, "ascii")


def mount_firmware_variables(say: Say) -> None:
    """The firmware's variables, to be read; none where it started without UEFI."""
    if Path(FIRMWARE_VARIABLES.place).parent.is_dir():
        _run(say, MODPROBE, "-q", "efivarfs")
        _mount(FIRMWARE_VARIABLES, say)


def start_devices(say: Say) -> None:
    """Starts udev and waits until every device that is there was looked at.

    "add" and not "change", since at that udev loads no drivers.
    """
    _run(say, UDEV, "--daemon")
    _run(say, UDEVADM, "trigger", "--type=subsystems", "--action=add")
    passed_over = (f"--subsystem-nomatch={name}" for name in NOTHING_TO_LOAD)
    _run(say, UDEVADM, "trigger", "--type=devices", "--action=add", *passed_over)
    for look in range(1, LOOKS + 1):
        if _run(say, UDEVADM, "settle", f"--timeout={LOOK_SECONDS}"):
            return
        say(STILL_WAITING.format(look * LOOK_SECONDS))


def _mount(one: Mount, say: Say) -> None:
    place = Path(one.place)
    try:
        place.mkdir(parents=True, exist_ok=True)
        if not os.path.ismount(place):
            mount(one.kind, place, one.kind, one.flags, one.options)
    except OSError as failure:
        say(f"{one.place} is not there: {failure.strerror}.")


def _run(say: Say, *command: str) -> bool:
    """Whether it ended well."""
    try:
        ended = subprocess.run(
            command,
            env=ENVIRONMENT,
            stdin=subprocess.DEVNULL,
            stdout=subprocess.DEVNULL,
            stderr=subprocess.DEVNULL,
            timeout=RUN_WITHIN,
            check=False,
        )
    except (OSError, subprocess.TimeoutExpired) as failure:
        say(f"{command[0]} did not do its part: {failure}.")
        return False
    return ended.returncode == 0
