"""The kernel's messages sorted by the list of known lines, and the log summed up by device."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from typing import Final

from closeout.model.device import Position
from closeout.model.frozen import replace
from closeout.model.inventory import Inventory, Section
from closeout.model.kernel_log import KernelLog, KernelMessage
from closeout.model.log_rules import LogRule, LogRules
from closeout.model.reading import Absent, Value

TROUBLE: Final = "trouble"
HARMLESS: Final = "harmless"
UNEXPLAINED: Final = "unexplained"
MOST_TEXTS: Final = 20
"""In one list of the log; each message by itself is in the inventory all the same."""


def sort_messages(inventory: Inventory, rules: LogRules) -> Inventory:
    """The inventory with each message sorted, and with the lists of the log filled in."""
    messages = tuple(
        _sorted(device, rules)
        for device in inventory.section("kernel_message").devices
        if isinstance(device, KernelMessage)
    )
    return Inventory(sections=tuple(_filled(section, messages) for section in inventory.sections))


def find_rule(text: str, rules: Iterable[LogRule]) -> LogRule | None:
    """The first rule whose pattern is found in the text."""
    for rule in rules:
        if rule.is_found_in(text):
            return rule
    return None


def _sorted(message: KernelMessage, rules: LogRules) -> KernelMessage:
    if not isinstance(message.text, Value):
        return message
    text, sources = message.text.value, message.text.sources
    for nature, known in ((HARMLESS, rules.harmless), (TROUBLE, rules.trouble)):
        if rule := find_rule(text, known):
            return replace(
                message,
                nature=Value(value=nature, sources=sources),
                explanation=Value(value=rule.meaning, sources=sources),
            )
    return replace(
        message,
        nature=Value(value=UNEXPLAINED, sources=sources),
        explanation=Absent(reason="no known line is like it", sources=sources),
    )


def _filled(section: Section, messages: tuple[KernelMessage, ...]) -> Section:
    if section.kind == "kernel_message":
        return replace(section, devices=messages)
    if section.kind == "kernel_log":
        logs = (one for one in section.devices if isinstance(one, KernelLog))
        return replace(section, devices=tuple(_summed(one, messages) for one in logs))
    return section


def _summed(log: KernelLog, messages: tuple[KernelMessage, ...]) -> KernelLog:
    return replace(
        log,
        troubles=_texts(log, messages, lambda one: _is(one, TROUBLE) and not _is_outside(one)),
        outside_troubles=_texts(log, messages, lambda one: _is(one, TROUBLE) and _is_outside(one)),
        unexplained=_texts(log, messages, lambda one: _is(one, UNEXPLAINED)),
        harmless=_texts(log, messages, lambda one: _is(one, HARMLESS)),
    )


def _is(message: KernelMessage, nature: str) -> bool:
    return isinstance(message.nature, Value) and message.nature.value == nature


def _is_outside(message: KernelMessage) -> bool:
    return message.position is Position.EXTERNAL


def _texts(
    log: KernelLog, messages: Iterable[KernelMessage], chosen: Callable[[KernelMessage], bool]
) -> Value[tuple[str, ...]]:
    texts = tuple(_show(message) for message in messages if chosen(message))
    if len(texts) > MOST_TEXTS:
        texts = (*texts[:MOST_TEXTS], f"and {len(texts) - MOST_TEXTS} more messages")
    return Value(value=texts, sources=log.troubles.sources)


def _show(message: KernelMessage) -> str:
    """`nvme0: nvme nvme0: I/O timeout (3 times; the drive did not answer)`."""
    text = message.text.value if isinstance(message.text, Value) else ""
    remarks: list[str] = []
    if isinstance(message.times, Value) and message.times.value > 1:
        remarks.append(f"{message.times.value} times")
    if isinstance(message.explanation, Value):
        remarks.append(message.explanation.value)
    remark = f" ({'; '.join(remarks)})" if remarks else ""
    return f"{_name(message)}: {text}{remark}"


def _name(message: KernelMessage) -> str:
    """The last part of the device's place, which is what people call it."""
    about = message.about_device
    return about.value.rsplit("/", 1)[-1] if isinstance(about, Value) else "kernel"
