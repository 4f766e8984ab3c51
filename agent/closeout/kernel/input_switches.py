"""The switches that are set on an input device, by the one ioctl that reads them.

EVIOCGSW (include/uapi/linux/input.h) copies the kernel's own picture of the switches; sysfs has
none of it. The device is opened for reading alone, so nothing can be sent to it.
"""

from __future__ import annotations

import array
import errno
import fcntl
import os
import stat
from typing import Final

from closeout.decode.input_switches import encode_switches, parse_switches_question
from closeout.kernel.failure import ReadError, Reason
from closeout.kernel.regular import encode_path, raise_as_read_error

INPUT_MAJOR: Final = 13
"""Of every input device (Documentation/admin-guide/devices.txt)."""
STATE_BYTES: Final = 8
EVIOCGSW: Final = 2 << 30 | STATE_BYTES << 16 | ord("E") << 8 | 0x1B
"""_IOC(_IOC_READ, 'E', 0x1b, STATE_BYTES)."""
OPEN_FLAGS: Final = os.O_RDONLY | os.O_NONBLOCK | os.O_CLOEXEC | os.O_NOCTTY


def is_switches_question(question: str) -> bool:
    """The question is for the switches of an input device."""
    return parse_switches_question(question) is not None


def ask_switches(root: bytes, question: str) -> bytes:
    """The switches that are set, as hexadecimal words.

    Raises:
        ReadError: NOT_OFFERED for another question, or where no input device is; else errno.
    """
    event = parse_switches_question(question)
    if event is None:
        raise ReadError(question, errno.EOPNOTSUPP, Reason.NOT_OFFERED)
    place = encode_path(root, f"dev/input/{event}")
    state = array.array("B", bytes(STATE_BYTES))
    try:
        _refuse_others(question, os.stat(place))  # noqa: PTH116 - Path takes no bytes
        descriptor = os.open(place, OPEN_FLAGS)
        try:
            _refuse_others(question, os.fstat(descriptor))
            fcntl.ioctl(descriptor, EVIOCGSW, state)
        finally:
            os.close(descriptor)
    except OSError as failure:
        raise_as_read_error(question, failure)
    return encode_switches(state.tobytes())


def _refuse_others(question: str, found: os.stat_result) -> None:
    if not stat.S_ISCHR(found.st_mode) or os.major(found.st_rdev) != INPUT_MAJOR:
        raise ReadError(question, errno.EOPNOTSUPP, Reason.NOT_OFFERED)
