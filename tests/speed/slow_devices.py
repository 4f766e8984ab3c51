"""A machine of twelve slow devices: forty readings of 50 ms over all of them, and one of 2 s.

python tests/speed/slow_devices.py      records it and ends, for who looks at its memory
"""

import sys
import time
from collections.abc import Sequence
from pathlib import Path
from typing import Final

sys.path.insert(0, str(Path(__file__).resolve().parent.parent))

from closeout.kernel.capture import Conditions, record_live
from closeout.kernel.evidence import Evidence
from closeout.kernel.recorded import RecordedTree
from closeout.kernel.task import Task
from closeout.kernel.tree import KernelTree
from closeout.model.moment import Moment

DEVICES: Final = 12
READINGS: Final = 40
SHORT: Final = 0.05
LONG: Final = 2.0
SLOWEST: Final = DEVICES - 1
"""The device with the long reading is the last in line, where it hurts the most."""


class SlowMachine:
    """Answers after a while: `device-11/long` after two seconds, anything else after 50 ms."""

    def read(self, path: str) -> bytes:
        """The answer, when the device has slept over it."""
        time.sleep(LONG if path.endswith("/long") else SHORT)
        return b"1\n"

    def names(self, folder: str) -> tuple[str, ...]:
        """Nothing: nobody asks."""
        raise NotImplementedError(folder)

    def target(self, link: str) -> str:
        """Nothing: nobody asks."""
        raise NotImplementedError(link)

    def ask(self, question: str) -> bytes:
        """Nothing: nobody asks."""
        raise NotImplementedError(question)


def questions_of(device: int) -> list[str]:
    """What is read of a device, one after the other."""
    own = range(device, READINGS, DEVICES)
    return [f"device-{device}/{number}" for number in own] + (
        [f"device-{device}/long"] if device == SLOWEST else []
    )


def slowest_seconds() -> float:
    """How long the slowest device takes on its own."""
    return max(
        sum(LONG if path.endswith("/long") else SHORT for path in questions_of(device))
        for device in range(DEVICES)
    )


def _task(device: int) -> Task:
    def ask(tree: KernelTree) -> None:
        for path in questions_of(device):
            tree.read(path)

    return Task(name=f"device-{device}", ask=ask)


def _round(_: RecordedTree) -> Sequence[Task]:
    return [_task(device) for device in range(DEVICES)]


def record_slow_machine() -> Evidence:
    """The evidence of it, by as many children as a live run has."""
    moment = Moment(text="2026-01-01T00:00:00Z", source="made up")
    conditions = Conditions(agent="speed", clock=time.monotonic_ns, moment=lambda: moment)
    return record_live((_round,), conditions, SlowMachine())


def main() -> None:
    """Records it with everything loaded that a check has loaded by then."""
    from closeout.cli.main import make_parser  # noqa: PLC0415 - the load of a check

    make_parser("check")
    record_slow_machine()


if __name__ == "__main__":
    main()
