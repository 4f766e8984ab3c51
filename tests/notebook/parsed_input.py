"""What the kernel's own list and evtest tell of input devices."""

import re
from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import Final

from notebook.opinions import ToolOutput

SYSFS: Final = re.compile(r"/(input\d+)$")
EVENT: Final = re.compile(r"\bevent\d+\b")
ID: Final = re.compile(r"I: Bus=(\w+) Vendor=(\w+) Product=(\w+) ")
NODE: Final = re.compile(r"^# /tmp/told\.(event\d+)$", re.MULTILINE)
CODE: Final = re.compile(r"    Event code \d+ \((\w+|\?)\)(?: state (\d))?")
PROPERTY: Final = re.compile(r"  Property type \d+ \((\w+)\)")


@dataclass(frozen=True, slots=True, kw_only=True)
class ListedInput:
    """One entry of /proc/bus/input/devices; `place` is its DEVPATH."""

    label: str
    place: str
    event: str
    bus: str
    ids: str
    name: str


@dataclass(slots=True, kw_only=True)
class TestedInput:
    """What evtest lists of an event node: codes by name, with the state of switches."""

    __test__ = False

    codes: list[str] = field(default_factory=list)
    states: dict[str, bool] = field(default_factory=dict)
    properties: set[str] = field(default_factory=set)


def listed_inputs(output: ToolOutput) -> Iterator[ListedInput]:
    """Every entry of /proc/bus/input/devices."""
    for block in output.text.split("\n\n"):
        lines = {line[:1]: line for line in block.split("\n") if line[1:3] == ": "}
        sysfs, number = SYSFS.search(lines.get("S", "")), ID.match(lines.get("I", ""))
        if sysfs and number:
            event = EVENT.search(lines["H"])
            yield ListedInput(
                label=sysfs[1],
                place=lines["S"].removeprefix("S: Sysfs="),
                event=event[0] if event else "",
                bus=number[1],
                ids=f"{number[2]}:{number[3]}",
                name=lines["N"].removeprefix('N: Name="').removesuffix('"'),
            )


def tested_inputs(output: ToolOutput) -> dict[str, TestedInput]:
    """What evtest lists, by event node."""
    _, *parts = NODE.split(output.text)
    return {node: _tested(text) for node, text in zip(parts[::2], parts[1::2], strict=True)}


def _tested(text: str) -> TestedInput:
    found = TestedInput(properties=set(PROPERTY.findall(text)))
    for name, state in CODE.findall(text):
        found.codes.append(name)
        if state:
            found.states[name] = state == "1"
    return found
