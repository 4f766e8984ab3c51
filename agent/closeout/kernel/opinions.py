"""What a library says of the machine: recorded beside what our own readers found.

The questions are few and fixed. Each answer is JSON as the library gives it, keys sorted. The
library is imported when it is first asked, in the process that asks.
"""

import errno
import importlib
import json
import socket
from collections.abc import Callable, Mapping
from types import ModuleType
from typing import Final, cast

from closeout.kernel.failure import ReadError, Reason

LIBRARY: Final = "psutil"


def second_opinion(question: str) -> bytes:
    """The library's answer to one of `QUESTIONS`.

    Raises:
        ReadError: NOT_OFFERED for any other question, without the library, or where the library
            itself fails; the kernel's errno where that is why it fails.
    """
    answer = QUESTIONS.get(question)
    if answer is None:
        raise ReadError(question, errno.EOPNOTSUPP, Reason.NOT_OFFERED)
    try:
        return json.dumps(answer(importlib.import_module(LIBRARY)), sort_keys=True).encode()
    except OSError as failure:
        raise ReadError(question, failure.errno or errno.EIO) from None
    except Exception:  # noqa: BLE001 - whatever a foreign library raises, it has no opinion
        raise ReadError(question, errno.EOPNOTSUPP, Reason.NOT_OFFERED) from None


def _battery(library: ModuleType) -> object:
    battery = library.sensors_battery()
    return None if battery is None else battery._asdict()


def _memory(library: ModuleType) -> object:
    return library.virtual_memory()._asdict()


def _interfaces(library: ModuleType) -> object:
    """The hardware addresses alone: where the unit is in a network is nobody's business."""
    interfaces = cast("Mapping[str, list[object]]", library.net_if_addrs())
    return {name: _hardware_addresses(entries) for name, entries in interfaces.items()}


def _hardware_addresses(entries: list[object]) -> list[object]:
    return [
        getattr(entry, "address", None)
        for entry in entries
        if getattr(entry, "family", None) == socket.AF_PACKET
    ]


QUESTIONS: Final[Mapping[str, Callable[[ModuleType], object]]] = {
    "psutil sensors_battery": _battery,
    "psutil virtual_memory": _memory,
    "psutil net_if_addrs": _interfaces,
}
