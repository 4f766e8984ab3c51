"""The bench, the settings and the medium: what differs and is no part of the unit."""

import errno
from collections.abc import Mapping
from dataclasses import replace
from typing import Final

from closeout.kernel.record import Answer, Failure, Kind, Question
from closeout.model.frozen import replace as replace_fields
from closeout.model.moment import Moment, ReferenceTime
from healthy.shown_unit import (
    Change,
    NotShownError,
    ShownUnit,
    answers,
    draws,
    edits,
    says,
    together,
    with_answers,
)
from healthy.variation import Stage, Variation, vary

DMI: Final = "sys/firmware/dmi/tables/DMI"
BIOS: Final = "sys/class/dmi/id/bios_version"
LOG: Final = Question(Kind.ASK, "kernel log")
LID: Final = "proc/acpi/button/lid/LID0/state"
LIGHT: Final = "sys/class/backlight/acpi_video0"
KEYS: Final = "sys/class/leds/keyglow::kbd_backlight"
DENIED: Final = Failure(number=errno.EACCES)
BENCH: Final = "clock of the bench"
TICK_MICROSECONDS: Final = 14_402_320


def kernel_release(release: str) -> Change:
    """Another kernel, in the header and in the file."""

    def change(unit: ShownUnit) -> ShownUnit:
        dated = with_header(unit, kernel=release)
        return says("proc/sys/kernel/osrelease", release)(dated)

    return change


def with_header(unit: ShownUnit, **changed: object) -> ShownUnit:
    """The unit with another header."""
    return replace(unit, header=replace_fields(unit.header, **changed))


def agent(name: str, more: Mapping[str, str]) -> Change:
    """Recorded by another version."""
    return lambda unit: with_header(unit, agent=name, more=more)


def held_against(text: str) -> Change:
    """A reference time at the moment of the clock's tick, which is 09:00:20 by the clock."""
    moment = Moment(text=text, source=BENCH)
    reference = ReferenceTime(moment=moment, taken_at_microseconds=TICK_MICROSECONDS)
    return lambda unit: with_header(unit, references=(reference,))


def logs(*lines: str) -> Change:
    """More lines in the kernel's log."""

    def change(unit: ShownUnit) -> ShownUnit:
        before = unit.answers.get(LOG)
        if not isinstance(before, bytes):
            raise NotShownError(LOG.text)
        more = "".join(f"4,{900 + at},{90_000_000 + at},-;{one}\n" for at, one in enumerate(lines))
        return with_answers(unit, {LOG: before + more.encode()})

    return change


def without_root(unit: ShownUnit) -> ShownUnit:
    """Run by a person who is not root: what only root may read is denied."""
    secret = ("product_serial", "product_uuid", "board_serial", "chassis_serial")
    denied: dict[Question, Answer] = {
        question: DENIED
        for question, answer in unit.answers.items()
        if isinstance(answer, bytes)
        and (
            question.text.startswith("sys/firmware/dmi/tables/")
            or question.text.startswith("nvme ")
            or question.text.removeprefix("sys/class/dmi/id/") in secret
        )
    }
    return with_answers(unit, denied)


def variables_away(unit: ShownUnit) -> ShownUnit:
    """The folder is there and empty, as before `mount -t efivarfs`."""
    left = {
        question: answer
        for question, answer in unit.answers.items()
        if not question.text.startswith("sys/firmware/efi/efivars/")
    }
    return replace(unit, answers=left)


def newer_firmware(version: bytes) -> Change:
    """In the table and in the file made from it."""
    return together(edits(Kind.READ, DMI, b"1.18\0", version + b"\0"), says(BIOS, version.decode()))


def order_says(old: str, new: str) -> Change:
    """The order written otherwise."""

    def change(unit: ShownUnit) -> ShownUnit:
        if old not in unit.order:
            raise NotShownError(old)
        return replace(unit, order=unit.order.replace(old, new))

    return change


def reversed_listings(unit: ShownUnit) -> ShownUnit:
    """Every listing from its end."""
    return with_answers(
        unit,
        {
            question: answer[::-1]
            for question, answer in unit.answers.items()
            if isinstance(answer, tuple)
        },
    )


def blocked(sort: str) -> Change:
    """A radio switched off by the software; the switch is told by where it sits."""

    def change(unit: ShownUnit) -> ShownUnit:
        found = [
            question.text
            for question in unit.answers
            if question.kind is Kind.READ
            and question.text.endswith("/soft")
            and f"/{sort}" in question.text
        ]
        if not found:
            raise NotShownError(sort)
        return together(*(says(path, "1") for path in found))(unit)

    return change


VARIATIONS: Final[tuple[Variation, ...]] = (
    vary("radio blocked by the software", blocked("phy")),
    vary("Bluetooth off by the software", blocked("hci")),
    vary(
        "both radios off by the software",
        together(blocked("phy"), blocked("hci")),
        "radio blocked by the software",
        "Bluetooth off by the software",
    ),
    vary(
        "no answer on radio rules",
        answers(Kind.ASK, "nl80211 regulatory", Failure(number=errno.EOPNOTSUPP)),
        "rules",
    ),
    vary("lid reported closed", says(LID, "state:      closed"), "lid"),
    vary(
        "a switch for tablet mode",
        draws(
            {
                "sys/devices/platform/FENT0001:00/input/input30/name": "Tablet switch",
                "sys/devices/platform/FENT0001:00/input/input30/capabilities/ev": "21",
                "sys/devices/platform/FENT0001:00/input/input30/capabilities/sw": "2",
                "sys/devices/platform/FENT0001:00/input/input30/capabilities/key": "0",
                "sys/devices/platform/FENT0001:00/input/input30/capabilities/rel": "0",
                "sys/devices/platform/FENT0001:00/input/input30/capabilities/abs": "0",
                "sys/devices/platform/FENT0001:00/input/input30/id/bustype": "0019",
                "sys/devices/platform/FENT0001:00/input/input30/id/vendor": "0000",
                "sys/devices/platform/FENT0001:00/input/input30/id/product": "0000",
                "sys/devices/platform/FENT0001:00/input/input30/inhibited": "0",
                "sys/devices/platform/FENT0001:00/input/input30/properties": "0",
            },
            {
                "sys/class/input/input30": "sys/devices/platform/FENT0001:00/input/input30",
                "sys/devices/platform/FENT0001:00/input/input30/device": (
                    "sys/devices/platform/FENT0001:00"
                ),
            },
        ),
        "tablet",
    ),
    vary("older kernel", kernel_release("6.1.0-28-amd64"), "kernel"),
    vary("newer kernel", kernel_release("7.2.1"), "kernel"),
    vary("recorded by an older agent", agent("closeout 0.0.9", {}), "agent"),
    vary("recorded by a newer agent", agent("closeout 9.1.0", {"bench": "3"}), "agent"),
    vary(
        "started from a stick",
        edits(Kind.READ, "proc/cmdline", b"quiet", b"quiet boot=live toram findiso=/live.iso"),
    ),
    vary(
        "another locale",
        edits(
            Kind.READ,
            "proc/cmdline",
            b"panic=-1",
            b"panic=-1 locales=nb_NO.UTF-8 keyboard-layouts=no",
        ),
        "locale",
    ),
    vary(
        "panel at its darkest",
        together(says(f"{LIGHT}/brightness", "0"), says(f"{LIGHT}/actual_brightness", "0")),
        "brightness",
    ),
    vary(
        "panel at its brightest",
        together(says(f"{LIGHT}/brightness", "100"), says(f"{LIGHT}/actual_brightness", "100")),
        "brightness",
    ),
    vary("keyboard light off", says(f"{KEYS}/brightness", "0"), "keys"),
    vary("keyboard light full", says(f"{KEYS}/brightness", "100"), "keys"),
    vary(
        "a dark room",
        says(
            "sys/devices/LNXSYSTM:00/LNXSYBUS:00/ACPI0008:00/iio:device0/in_illuminance_input", "0"
        ),
        "room",
    ),
    vary(
        "harmless lines in the log",
        logs(
            "hrtimer: interrupt took 36958116 ns",
            "tsc: Unable to calibrate against PIT",
            "perf: interrupt took too long (2511 > 2500), lowering "
            "kernel.perf_event_max_sample_rate to 79500",
        ),
        "log",
    ),
    vary(
        "up for twelve hours",
        logs("hrtimer: interrupt took 1200000 ns"),
        "log",
    ),
    vary("a line in the log that nobody knows", logs("fenwlan: queue 3 is asleep"), "log"),
    vary("firmware newer than the least", newer_firmware(b"1.21"), "firmware"),
    vary("firmware newer in its first number", newer_firmware(b"2.00"), "firmware"),
    vary(
        "serial with spaces around it in the order",
        order_says('"NL7QK42D"', '" NL7QK42D "'),
        "order serial",
    ),
    vary(
        "uuid in upper case in the order",
        order_says("8c0f2a56-41d3-4e7b-9a20-5be16c7d3f04", "8C0F2A56-41D3-4E7B-9A20-5BE16C7D3F04"),
    ),
    vary(
        "no asset tag in the order",
        order_says('asset_tag = "DEPOT-0417"\n', ""),
        "asset tag in lower case in the order",
    ),
    vary("two repairs in the order", order_says('["system-board"]', '["system-board", "memory"]')),
    vary("every listing from its end", reversed_listings),
    vary(
        "run without root",
        without_root,
        stage=Stage.REFUSED,
        undecided="the serial number and the drive's health answer only to root",
    ),
    vary(
        "variables of the firmware not mounted",
        variables_away,
        stage=Stage.REFUSED,
        undecided="whether the firmware is in setup mode is told by its variables alone",
    ),
    vary("clock held against the bench", held_against("2026-11-20T09:00:20Z"), "clock"),
    vary("clock kept as local time", held_against("2026-11-20T08:00:20Z"), "clock"),
    vary("clock three minutes slow", held_against("2026-11-20T09:03:20Z"), "clock"),
)
