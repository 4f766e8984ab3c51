"""The kernel's own warnings out of `/dev/kmsg`, which is no regular file: a record for each read.

Documentation/ABI/testing/dev-kmsg. It is opened for reading alone, and without waiting; the
position is the reader's own, so nobody else misses anything. What programs wrote is left out:
the facility of the kernel is the one that no program can put on a record.
"""

from __future__ import annotations

import errno
import os
from collections import deque
from collections.abc import Callable, Iterator, Sequence
from typing import Final

from closeout.decode.failure import DecodeError
from closeout.decode.kernel_log import (
    KERNEL,
    NEAR,
    QUESTION,
    WARNING,
    LogCounts,
    LogRecord,
    decode_record,
    distance_to_line,
    encode_excerpt,
)
from closeout.kernel.failure import ReadError

DEVICE: Final = b"/dev/kmsg"
HARDWARE_ERROR: Final = "[Hardware Error]"
"""How the kernel marks what is the hardware's fault (HW_ERR, include/linux/printk.h). That a
machine check was corrected it tells at level 6, so the level alone would miss it."""
LARGEST_RECORD: Final = 16_384
"""The kernel's own limit is 8192 bytes (CONSOLE_EXT_LOG_MAX, later PRINTK_MESSAGE_MAX)."""
MOST_KEPT: Final = 256 * 1024
"""Bytes of records; the first are kept, for what follows is mostly their consequence."""
MOST_READS: Final = 1_000_000
"""More than any buffer of the kernel's holds; a log that grows as fast as it is read ends here."""


def read_kernel_log(root: bytes) -> bytes:
    """The kernel's records of level warning and worse, with counts of the rest.

    Raises:
        ReadError: with the kernel's errno; EACCES and EPERM without rights.
    """
    try:
        descriptor = os.open(root + DEVICE, os.O_RDONLY | os.O_NONBLOCK | os.O_CLOEXEC)
        try:
            return collect_records(lambda: os.read(descriptor, LARGEST_RECORD))
        finally:
            os.close(descriptor)
    except OSError as failure:
        raise ReadError(QUESTION, failure.errno or errno.EIO) from None


def collect_records(read: Callable[[], bytes]) -> bytes:
    """The excerpt of everything that `read` gives until it has no more.

    A record that is no record is counted as read and not kept.

    Raises:
        OSError: any other failure than "no more" and "overwritten".
    """
    kept: list[bytes] = []
    before: deque[tuple[LogRecord, bool]] = deque(maxlen=NEAR)
    size = number = lost = left_out = expected = 0
    for raw in _records_of(read):
        number += 1
        record = _decoded(raw)
        if record is None:
            continue
        lost += max(0, record.sequence - expected)
        expected = record.sequence + 1
        is_wanted = _is_wanted(record, before)
        before.append((record, is_wanted))
        if not is_wanted:
            continue
        if size + len(raw) > MOST_KEPT:
            left_out += 1
            continue
        size += len(raw)
        kept.append(raw)
    return encode_excerpt(LogCounts(read=number, lost=lost, left_out=left_out), kept)


def _is_wanted(record: LogRecord, before: Sequence[tuple[LogRecord, bool]]) -> bool:
    """Of the kernel, and a warning or worse, or marked as an error of the hardware.

    A piece of a line is wanted with its line: its own level is nobody's.
    """
    if record.facility != KERNEL:
        return False
    back = distance_to_line([one for one, _ in before], record)
    is_bad = before[-back][1] if back else record.level <= WARNING
    return is_bad or HARDWARE_ERROR in record.text


def _records_of(read: Callable[[], bytes]) -> Iterator[bytes]:
    """Every record that there is now.

    EPIPE says that records were overwritten while we read: how many tells the next number.
    """
    for _ in range(MOST_READS):
        try:
            raw = read()
        except BlockingIOError:
            return
        except BrokenPipeError:
            continue
        if not raw:
            return
        yield raw


def _decoded(raw: bytes) -> LogRecord | None:
    try:
        return decode_record(raw)
    except DecodeError:
        return None
