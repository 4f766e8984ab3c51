"""Whether a drive is locked: by an ATA password, or by self-encryption as the kernel tells it."""

from __future__ import annotations

import errno
from typing import Final

from closeout.decode.ata_identify import AtaDevice
from closeout.decode.opal_status import decode_opal_status
from closeout.kernel.question_names import OPAL
from closeout.kernel.tree import KernelTree
from closeout.model.reading import Absent, Reading, Unreadable, Value, convert
from closeout.readers.drive_answers import ask, pick

LOCKED: Final = "locked"
REFUSED: Final = errno.errorcode[errno.EOPNOTSUPP]
"""What the kernel answers for a drive without self-encryption."""


def read_opal(tree: KernelTree, disk: str) -> Reading[tuple[str, ...]]:
    """Self-encryption of a disk, by its name in `dev`, in words."""
    told = ask(tree, f"{OPAL} {disk}", decode_opal_status)
    if isinstance(told, Unreadable) and told.error == REFUSED:
        return Absent(reason="the drive has no self-encryption lock", sources=told.sources)
    return told


def read_password(identity: Reading[AtaDevice]) -> Reading[tuple[str, ...]]:
    """The ATA security feature in words; a drive without it tells none."""
    return pick(
        identity, lambda device: device.security, "the drive does not tell of a password lock"
    )


def is_locked(lock: Reading[tuple[str, ...]]) -> Reading[bool]:
    """A lock that the drive has not is not shut."""
    if isinstance(lock, Absent):
        return Value(value=False, sources=lock.sources)
    return convert(lock, lambda words: LOCKED in words)


def either_locked(
    password: Reading[tuple[str, ...]], opal: Reading[tuple[str, ...]]
) -> Reading[bool]:
    """Locked by one of both; not locked only where neither is known to be."""
    if isinstance(password, Absent):
        return password if isinstance(opal, Absent) else is_locked(opal)
    first, second = is_locked(password), is_locked(opal)
    for found in (first, second):
        if isinstance(found, Value) and found.value:
            return found
    if not isinstance(first, Value):
        return first
    if not isinstance(second, Value):
        return second
    return Value(value=False, sources=first.sources + second.sources)


def together(
    password: Reading[tuple[str, ...]], opal: Reading[tuple[str, ...]]
) -> Reading[tuple[str, ...]]:
    """Both locks in one list of words; the self-encryption's have its name before them."""
    named = convert(opal, lambda words: tuple(f"self-encryption {word}" for word in words))
    if isinstance(named, Absent):
        return password
    if isinstance(password, Absent):
        return named
    if not isinstance(password, Value):
        return password
    if not isinstance(named, Value):
        return named
    return Value(value=password.value + named.value, sources=password.sources + named.sources)
