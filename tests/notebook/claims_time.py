"""What hwclock, dmesg and lspci say of the clock, the log and the links that count errors."""

import json
import math
import re
from collections.abc import Iterator, Mapping
from datetime import datetime
from typing import Any, Final

from notebook.opinions import ToolOutput
from notebook.shown import Claim, Shown, ShownDevice

TICK: Final = "got clock tick"
SESSION_SECONDS: Final = 3600
"""The tools are asked after the agent; a session takes no longer."""
TOLD_TIME: Final = re.compile(r"^\d{4}-\d\d-\d\d \d\d:\d\d:\d\d\.\d+[+-]\d\d:\d\d$", re.MULTILINE)
SEVERITIES: Final = ("emergency", "alert", "critical", "error", "warning")
MICROSECONDS: Final = 1_000_000
AT_MOST_BEFORE: Final = 3 * MICROSECONDS
"""So long before the clock was read the agent had read the log at the latest."""
NUMBERS: Final = re.compile(r"[0-9a-f]*[0-9][0-9a-f]*")
CAPABILITY: Final = "Advanced Error Reporting"


def hwclock_claims(shown: Shown, outputs: Mapping[str, ToolOutput]) -> Iterator[Claim]:
    """The clock runs, and shows the same time but for what passed in between."""
    tool = "hwclock"
    text = outputs[tool].text
    clock = shown.only("clock")
    found = TOLD_TIME.search(text)
    told: object = int(datetime.fromisoformat(found[0]).timestamp()) if found else None
    ours = clock.values.get("since_epoch_seconds")
    if isinstance(told, int) and isinstance(ours, int) and 0 <= told - ours < SESSION_SECONDS:
        told = ours
    yield from clock.claims(tool, {"since_epoch_seconds": told, "running": TICK in text})


def dmesg_claims(shown: Shown, outputs: Mapping[str, ToolOutput]) -> Iterator[Claim]:
    """Every message shown is a line there; every kind of line that was there is shown."""
    tool = "dmesg"
    lines = [_line(one) for one in json.loads(outputs[tool].text)["dmesg"]]
    messages = shown.devices("kernel_message")
    told = {message.label: _told_of(message, lines) for message in messages}
    for message in messages:
        yield from message.claims(tool, told[message.label] or {"text": None})
    labels = [label for label, line in told.items() if line]
    read_at = shown.only("clock").values.get("read_at_microseconds")
    until = read_at - AT_MOST_BEFORE if isinstance(read_at, int) else math.inf
    kinds = {NUMBERS.sub("", str(message.values.get("text"))) for message in messages}
    for line in _outside_dumps(lines):
        if line["first_microseconds"] <= until and NUMBERS.sub("", line["text"]) not in kinds:
            label = f"the line at {line['first_microseconds']}"
            labels.append(label)
            yield from shown.device("kernel_message", label).claims(tool, line)
    yield shown.which(tool, "kernel_message", labels)


def link_claims(shown: Shown, outputs: Mapping[str, ToolOutput]) -> Iterator[Claim]:
    """Which functions have the capability to tell of errors."""
    tool = "lspci-errors"
    found: list[str] = []
    function = ""
    for line in outputs[tool].text.split("\n"):
        if line and not line[0].isspace():
            function = line.split(" ", 1)[0]
        elif CAPABILITY in line:
            found.append(function)
    yield shown.which(tool, "pci_faults", found)


def _line(told: Mapping[str, Any]) -> dict[str, Any]:
    return {
        "text": " ".join(str(told["msg"]).split()),
        "severity": SEVERITIES[int(told["pri"])],
        "first_microseconds": round(float(told["time"]) * MICROSECONDS),
    }


def _told_of(message: ShownDevice, lines: list[dict[str, Any]]) -> dict[str, Any] | None:
    """What dmesg tells of a message; the severity only where it came once."""
    for line in lines:
        if all(line[key] == message.values.get(key) for key in ("text", "first_microseconds")):
            once = message.values.get("times") == 1
            return line if once else {key: line[key] for key in line if key != "severity"}
    return None


def _outside_dumps(lines: list[dict[str, Any]]) -> Iterator[dict[str, Any]]:
    """Lines up to the first dump: what belongs to one, dmesg does not tell."""
    for line in lines:
        if line["text"].startswith(("Call Trace", "------------[")):
            return
        yield line
