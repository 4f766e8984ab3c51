"""What evtest tells of the input devices: their names, their switches, and which of them are on."""

import re
from collections.abc import Set as AbstractSet
from typing import Final

from notebook.opinions import ToolOutput
from notebook.parsed_text import parts_by_device

NAME: Final = re.compile(r'^Input device name: "(.*)"$', re.MULTILINE)
SWITCH: Final = re.compile(
    r"^    Event code \d+ \(SW_(\w+?)(?:_INSERT)?\) state (\d)$", re.MULTILINE
)


def names_with_switches(
    output: ToolOutput,
    wanted: AbstractSet[str],
    but: AbstractSet[str] = frozenset(),
    *,
    only_on: bool = False,
) -> tuple[str, ...]:
    """The devices that have a wanted switch and none of the others; or where a wanted one is on."""
    found: list[str] = []
    for text in parts_by_device(output).values():
        switches = {name: state == "1" for name, state in SWITCH.findall(text)}
        chosen = [on for name, on in switches.items() if name in wanted]
        if chosen and not but & switches.keys() and (any(chosen) or not only_on):
            found += NAME.findall(text)
    return tuple(found)
