"""The demo's units, captured anew: what ships is what the agent reads today, but for what moves."""

import re
from collections.abc import Callable
from typing import Final

import pytest

from capture_demo_units import capture_unit
from closeout.cli.demo import demo_units
from closeout.kernel.evidence import Evidence
from closeout.kernel.record import Answer, Kind, Question
from notebook.lasting_numbers import lasting_numbers, renumber_answer, renumber_question
from notebook.machine import Machine
from notebook.renaming import shipped_list

pytestmark = pytest.mark.notebook

UNITS: Final = {unit.folder.name: unit for unit in demo_units()}
TIMERS: Final = r"(tsc|APIC calibration|hrtimer|perf|clocksource|Unstable clock)\b"
"""Lines of the log that come when the host was busy."""
TOOLS: Final = "thermal_sys: Thermal transition table exceeds"
"""Another, for a tool that was run before on this notebook and read whatever there is."""
MOVES: Final = (
    (Kind.READ, r"proc/meminfo", r": +\d+( kB)?$"),
    (Kind.ASK, r"psutil virtual_memory", r"\d+(\.\d+)?"),
    # what time it is, how long the machine runs, and which process asks
    (Kind.ASK, r"clock tick rtc\d+", r"\d{3,}"),
    (Kind.READ, r"proc/driver/rtc", r"^(rtc_time\t: ).*"),
    (Kind.ASK, r"nl80211 regulatory", r"(?<=\x02\x00#\x00\x00\x00)[\s\S]{4}"),
    (Kind.READ, r"proc/interrupts", r"[\s\S]+"),
    (Kind.ASK, r"kernel log", rf"^read=\d+|^\d,\d+,\d+,-;((?:{TIMERS}|{TOOLS}).*)?"),
    # how fast the emulator runs just then
    (Kind.READ, r"proc/cpuinfo", r"^(cpu MHz|bogomips)\t+: [\d.]+$"),
    # where in memory the emulator lays what the kernel starts from, and firmware its table
    (Kind.READ, r"proc/cmdline", r"\binitrdmem=\S+"),
    (Kind.READ, r"sys/firmware/dmi/tables/smbios_entry_point", r"[\s\S]+"),
    # when udev saw a device, and its links in no order
    (Kind.READ, r"run/udev/data/.*", r"^I:\d+$"),
    # which of its builds the kernel is
    (Kind.READ, r"proc/sys/kernel/osrelease|.*/usb\d+/manufacturer", r"\b6\.\d+\.\d+"),
    # which interrupt line a driver got
    (Kind.READ, r"proc/asound/cards", r"\birq \d+"),
    (Kind.READ, r".*/usb\d+/bcdDevice", r"^06\d\d$"),
    # numbers that the kernel gives in the order in which drivers are ready
    (Kind.READ, r".*/event\d+/dev", r"^13:\d+$"),
    (Kind.NAMES, r".*/nvme/nvme0", r"hwmon\d+"),
)
"""What answers may differ in from one start to the next, by kind and pattern of the question."""

TRIES = 3
"""On a busy host a deadline of the agent's runs out that nothing in the notebook explains."""


def still(question: Question, answer: Answer) -> Answer:
    """The answer without what moves."""
    for kind, asked, moving in MOVES:
        if question.kind is kind and re.fullmatch(asked, question.text):
            answer = without(answer, re.compile(moving, re.MULTILINE))
    if question.text.startswith(("run/udev/data/", "kernel log")) and isinstance(answer, bytes):
        return b"\n".join(sorted(set(answer.split(b"\n")) - {b"~"}))
    return answer


def without(answer: Answer, moving: re.Pattern[str]) -> Answer:
    match answer:
        case bytes():
            return moving.sub("~", answer.decode("latin-1")).encode("latin-1")
        case tuple():
            return tuple(moving.sub("~", name) for name in answer)
        case _:
            return answer


def told(evidence: Evidence) -> dict[Question, Answer]:
    numbers = lasting_numbers(evidence.records)
    return {
        renumber_question(each.question, numbers): renumber_answer(
            still(each.question, each.answer), numbers
        )
        for each in evidence.records
    }


@pytest.mark.parametrize(
    "name", [pytest.param(name, marks=pytest.mark.xdist_group(name)) for name in UNITS]
)
def test_a_unit_captured_anew_is_the_shipped_one(
    name: str, booted: Callable[[str], Machine]
) -> None:
    notebook = shipped_list().units[name].notebook
    shipped = told(UNITS[name].evidence())
    fresh: dict[Question, Answer] = {}
    for _ in range(TRIES):
        fresh = told(capture_unit(booted(notebook).session, name))
        if fresh == shipped:
            break
    again = "run `make demo-units` and read the difference"
    assert sorted(fresh) == sorted(shipped), again
    assert {q.text: a for q, a in fresh.items() if a != shipped[q]} == {}, again
