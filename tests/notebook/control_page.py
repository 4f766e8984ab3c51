"""The page of guest memory through which the ACPI values of a running notebook are told.

Guest memory is a file of the host. The kernel is told to keep off 64 KiB of it, the notebook's
ACPI source (`acpi_source.py`) reads its values there, and the host writes them. This layout is
ours, little-endian, and stands here only; without the magic number the firmware shows what it was
built with.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from enum import IntFlag
from pathlib import Path
from typing import Final

from notebook.description import Battery, Notebook

BASE: Final = 0x1000_0000
"""Where the page lies in guest memory, and so in the file; below any hole of the address space."""

SIZE: Final = 0x1_0000
PAGE_LENGTH: Final = 0x200
MAILBOX: Final = BASE + 0x1000
"""The Type-C controller's mailbox, in the same 64 KiB; the host has no business there."""

RESERVED: Final = f"memmap={SIZE >> 10}K${BASE:#x}"
"""The kernel option that keeps the kernel off the page; a boot loader's file needs quotes here."""

MAGIC: Final = 0x4745_5043
MOST_BATTERIES: Final = 4
ZERO_CELSIUS: Final = 2732
"""0 degrees in tenths of a kelvin as the kernel takes it, unless a critical point ends in .4 or .9:
there it takes 2731 (drivers/acpi/thermal.c)."""

STATES: Final = {"idle": 0, "discharging": 1, "charging": 2, "critical": 5}
"""_BST's state bits (ACPI 6.5, 10.2.2): 1 discharging, 2 charging, 4 critical, which comes beside
one of the others; a critical pack here is one that is being emptied."""


class Event(IntFlag):
    """What the firmware notifies the kernel of."""

    NONE = 0
    LID = 1
    ADAPTER = 2
    BATTERY_STATE = 4
    BATTERY_INFO = 8
    """A pack came, went, or is another one."""
    TYPE_C = 16
    LIGHT = 32
    POWER_BUTTON = 64
    SLEEP_BUTTON = 128


@dataclass(frozen=True, slots=True, kw_only=True)
class Word:
    """A number of the page: its name in the ACPI source, and where it stands."""

    name: str
    offset: int
    width: int


@dataclass(frozen=True, slots=True, kw_only=True)
class LiveBattery:
    """What one bay shows now."""

    present: bool
    state: int
    rate_mw: int
    remaining_mwh: int
    millivolts: int
    design_mwh: int
    full_mwh: int
    cycles: int


@dataclass(frozen=True, slots=True, kw_only=True)
class ControlPage:
    """Every value that can change while the notebook runs, and what to notify the kernel of.

    What the notebook does not have is 0 and nobody reads it.
    """

    notify: Event = Event.NONE
    online: bool = False
    lid_open: bool = False
    partner: bool = False
    decikelvin: int = 0
    rpm: int = 0
    lux: int = 0
    batteries: tuple[LiveBattery, ...] = ()


HEAD: Final = (
    Word(name="MAGC", offset=0x00, width=4),
    Word(name="SEQN", offset=0x04, width=1),
    Word(name="SEEN", offset=0x05, width=1),
)
"""SEQN is the host's: another number is another page. SEEN is the firmware's: the last it took."""

VALUES: Final = {
    "notify": Word(name="NTFY", offset=0x06, width=1),
    "online": Word(name="ACON", offset=0x08, width=1),
    "lid_open": Word(name="LIDO", offset=0x09, width=1),
    "partner": Word(name="TCPA", offset=0x0A, width=1),
    "decikelvin": Word(name="TMPR", offset=0x0C, width=4),
    "rpm": Word(name="RPMS", offset=0x10, width=4),
    "lux": Word(name="LUXV", offset=0x14, width=4),
}
SEQUENCE, SEEN = HEAD[1].offset, HEAD[2].offset
FIRST_BATTERY: Final = 0x40
BATTERY_LENGTH: Final = 0x20
BATTERY_VALUES: Final = {
    "present": ("PRS", 0x00, 1),
    "state": ("STA", 0x01, 1),
    "rate_mw": ("RAT", 0x04, 4),
    "remaining_mwh": ("REM", 0x08, 4),
    "millivolts": ("VOL", 0x0C, 4),
    "design_mwh": ("DES", 0x10, 4),
    "full_mwh": ("FUL", 0x14, 4),
    "cycles": ("CYC", 0x18, 4),
}


def battery_words(number: int) -> dict[str, Word]:
    """The words of one bay by their attributes; bays count from 0."""
    start = FIRST_BATTERY + BATTERY_LENGTH * number
    return {
        attribute: Word(name=f"{name}{number}", offset=start + offset, width=width)
        for attribute, (name, offset, width) in BATTERY_VALUES.items()
    }


def words(batteries: int) -> tuple[Word, ...]:
    """Every word of a page with so many bays, in the order of their offsets."""
    bays = (word for number in range(batteries) for word in battery_words(number).values())
    return (*HEAD, *VALUES.values(), *bays)


def encode(page: ControlPage, sequence: int = 1) -> bytes:
    """The page as it lies in memory, nothing of it seen; OverflowError for a value too large."""
    if len(page.batteries) > MOST_BATTERIES:
        raise ValueError(f"{len(page.batteries)} batteries: the page has {MOST_BATTERIES} bays")
    raw = bytearray(PAGE_LENGTH)
    magic, number, _ = HEAD
    told = [(magic, MAGIC), (number, sequence)]
    told += _numbers(page, VALUES)
    for bay, battery in enumerate(page.batteries):
        told += _numbers(battery, battery_words(bay))
    for word, value in told:
        end = word.offset + word.width
        raw[word.offset : end] = value.to_bytes(word.width, "little")
    return bytes(raw)


def decode(raw: bytes, batteries: int) -> ControlPage:
    """The page that these bytes are, of a notebook with so many bays; ValueError without magic."""
    if _read(raw, HEAD[0]) != MAGIC:
        raise ValueError(f"no control page: it begins with {raw[:4].hex()}")
    head = {attribute: _read(raw, word) for attribute, word in VALUES.items()}
    return ControlPage(
        notify=Event(head["notify"]),
        online=bool(head["online"]),
        lid_open=bool(head["lid_open"]),
        partner=bool(head["partner"]),
        decikelvin=head["decikelvin"],
        rpm=head["rpm"],
        lux=head["lux"],
        batteries=tuple(_decode_battery(raw, number) for number in range(batteries)),
    )


def control_page_of(notebook: Notebook) -> ControlPage:
    """The page that says what the description says."""
    return ControlPage(
        online=notebook.adapter is not None and notebook.adapter.online,
        lid_open=notebook.lid is not None and notebook.lid.open,
        partner=notebook.type_c is not None and notebook.type_c.partner,
        decikelvin=decikelvin(notebook.thermal.celsius) if notebook.thermal else 0,
        rpm=notebook.fan.rpm if notebook.fan else 0,
        lux=notebook.light_sensor.lux if notebook.light_sensor else 0,
        batteries=tuple(map(live_battery, notebook.battery.values())),
    )


def live_battery(battery: Battery) -> LiveBattery:
    """What the bay shows by its description."""
    return LiveBattery(
        present=battery.present,
        state=STATES[battery.state],
        rate_mw=battery.rate_mw,
        remaining_mwh=battery.remaining_mwh,
        millivolts=battery.millivolts,
        design_mwh=battery.design_mwh,
        full_mwh=battery.full_mwh,
        cycles=battery.cycles,
    )


def decikelvin(celsius: float) -> int:
    """Tenths of a kelvin, as ACPI tells temperatures."""
    return ZERO_CELSIUS + round(celsius * 10)


def write_control_page(ram: Path, page: ControlPage) -> None:
    """Pokes the page into the file of guest memory; its sequence number goes last, and differs."""
    with ram.open("r+b", buffering=0) as memory:
        memory.seek(BASE + SEQUENCE)
        (sequence,) = memory.read(1)
        raw = encode(page)
        memory.seek(BASE)
        memory.write(raw[:SEQUENCE])
        memory.seek(BASE + SEEN + 1)
        memory.write(raw[SEEN + 1 :])
        memory.seek(BASE + SEQUENCE)
        memory.write(bytes(((sequence + 1) & 0xFF,)))


def is_taken(ram: Path) -> bool:
    """The firmware saw the last page and raised its notifications."""
    with ram.open("rb", buffering=0) as memory:
        memory.seek(BASE + SEQUENCE)
        sequence, seen = memory.read(2)
    return sequence == seen


def events_between(before: ControlPage, after: ControlPage) -> Event:
    """What firmware notifies the kernel of when these values change; buttons have no value."""
    changes = {
        Event.LID: before.lid_open != after.lid_open,
        Event.ADAPTER: before.online != after.online,
        Event.TYPE_C: before.partner != after.partner,
        Event.LIGHT: before.lux != after.lux,
        Event.BATTERY_STATE: before.batteries != after.batteries,
        Event.BATTERY_INFO: _packs(before) != _packs(after),
    }
    raised = Event.NONE
    for event, is_raised in changes.items():
        raised |= event if is_raised else Event.NONE
    return raised


def _packs(page: ControlPage) -> list[tuple[bool, int, int, int]]:
    return [(pack.present, pack.design_mwh, pack.full_mwh, pack.cycles) for pack in page.batteries]


def _numbers(
    record: ControlPage | LiveBattery, layout: dict[str, Word]
) -> Iterable[tuple[Word, int]]:
    return [(word, int(getattr(record, attribute))) for attribute, word in layout.items()]


def _decode_battery(raw: bytes, number: int) -> LiveBattery:
    told = {attribute: _read(raw, word) for attribute, word in battery_words(number).items()}
    return LiveBattery(present=bool(told.pop("present")), **told)


def _read(raw: bytes, word: Word) -> int:
    return int.from_bytes(raw[word.offset : word.offset + word.width], "little")
