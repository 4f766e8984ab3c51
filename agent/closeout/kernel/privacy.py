"""No core dump of ours: what the process read stays in the process."""

from __future__ import annotations

import ctypes
import errno
import os
import resource
from functools import cache
from typing import Final

PR_GET_DUMPABLE: Final = 3
PR_SET_DUMPABLE: Final = 4
"""From linux/prctl.h; see prctl(2)."""


@cache
def forbid_core_dumps() -> None:
    """No core file of this process or its children, nor a dump piped to a collector.

    The limit alone is not enough: a collector named in core_pattern gets the dump all the same
    unless the process is marked as not dumpable (core(5)). Children made by fork inherit both.

    Raises:
        OSError: the kernel did not take it, so no secret may be read.
    """
    resource.setrlimit(resource.RLIMIT_CORE, (0, 0))
    prctl = ctypes.CDLL(None, use_errno=True).prctl
    prctl(PR_SET_DUMPABLE, 0, 0, 0, 0)
    if not is_undumpable():
        raise OSError(errno.EPERM, os.strerror(errno.EPERM))


def is_undumpable() -> bool:
    """Whether the kernel, asked again, says that there will be no core dump."""
    dumpable = ctypes.CDLL(None, use_errno=True).prctl(PR_GET_DUMPABLE, 0, 0, 0, 0)
    return dumpable == 0 and resource.getrlimit(resource.RLIMIT_CORE) == (0, 0)
