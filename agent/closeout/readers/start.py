"""How this system was started: from our stick or as the unit's own, and which kernel it is.

`proc/cmdline` carries `closeout.stick=BUILD` when the stick started it (our own parameter);
`proc/sys/kernel/osrelease` is the kernel's release.
"""

from __future__ import annotations

from typing import Final

from closeout.kernel.tree import KernelTree
from closeout.model.frozen import frozen
from closeout.model.reading import Reading, Value, convert
from closeout.readers.attributes import read_text

STICK_PARAMETER: Final = "closeout.stick="
FROM_STICK: Final = "stick, build "
OWN_SYSTEM: Final = "own system, not the stick"


@frozen
class Start:
    """What was started, from what."""

    medium: Reading[str]
    kernel: Reading[str]


def read_start(tree: KernelTree) -> Start:
    """The medium and the kernel of the running system."""
    return Start(
        medium=convert(read_text(tree, "proc/cmdline"), _medium),
        kernel=read_text(tree, "proc/sys/kernel/osrelease"),
    )


def _medium(command_line: str) -> str:
    for word in command_line.split():
        if word.startswith(STICK_PARAMETER):
            return f"{FROM_STICK}{word.removeprefix(STICK_PARAMETER)}"
    return OWN_SYSTEM


def build_of(start: Start) -> str:
    """The build of the stick; empty where none started the system, or nothing was read."""
    medium = start.medium.value if isinstance(start.medium, Value) else ""
    return medium.removeprefix(FROM_STICK) if medium.startswith(FROM_STICK) else ""
