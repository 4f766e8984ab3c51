"""The kernel's log: what is in it of warnings and worse, and each message with its device.

Asked as "kernel log" (`/dev/kmsg`, Documentation/ABI/testing/dev-kmsg). Which lines are trouble
is not known here. Of an earlier crash the firmware's store keeps records, `sys/fs/pstore`
(Documentation/ABI/testing/pstore): their names are told, their content is never read.
"""

from __future__ import annotations

from typing import Final

from closeout.decode.failure import DecodeError
from closeout.decode.kernel_log import QUESTION, SEVERITIES
from closeout.decode.plain_text import decode_text
from closeout.kernel.failure import ReadError
from closeout.kernel.tree import KernelTree
from closeout.model.device import Position
from closeout.model.inventory import Listing
from closeout.model.kernel_log import KernelLog, KernelMessage
from closeout.model.reading import Absent, Reading, Unreadable, Value, convert
from closeout.readers.attributes import list_folder, no_value, read_bytes
from closeout.readers.kernel_log_device import NamedDevice, name_device
from closeout.readers.kernel_log_message import Message, Messages, identifiers_in, read_messages
from closeout.readers.places import read_position
from closeout.readers.reader import Reader

PLACE: Final = "kernel-log"
CRASHES: Final = "sys/fs/pstore"
MOUNTS: Final = "proc/mounts"
NOT_SORTED: Final = "closeout check sorts the messages by the list of known lines"


def ask_messages(tree: KernelTree) -> Value[Messages] | Absent | Unreadable:
    """The messages, or why there are none to be had."""
    try:
        return Value(value=read_messages(tree.ask(QUESTION)), sources=(QUESTION,))
    except ReadError as failure:
        return no_value(failure)
    except DecodeError as error:
        return Unreadable(error="MALFORMED", advice=str(error), sources=(QUESTION,))


def find_log(tree: KernelTree) -> Listing:
    """One place wherever the log could be read."""
    messages = ask_messages(tree)
    if not isinstance(messages, Value):
        return messages
    return Value(value=(PLACE,), sources=messages.sources)


def find_messages(tree: KernelTree) -> Listing:
    """A place for each message, worst first."""
    messages = ask_messages(tree)
    if not isinstance(messages, Value):
        return messages
    places = tuple(message.place for message in messages.value.shown)
    return Value(value=places, sources=messages.sources)


def read_log(tree: KernelTree, place: str) -> KernelLog:
    """The log as a whole, its messages not yet sorted."""
    messages = ask_messages(tree)
    waiting = Unreadable(error="NOT_SORTED", advice=NOT_SORTED, sources=(QUESTION,))
    return KernelLog(
        place=place,
        label="kernel log",
        position=Position.INTERNAL,
        records=convert(messages, lambda found: len(found.excerpt.records)),
        lost_records=convert(messages, lambda found: found.excerpt.counts.lost),
        left_out_records=convert(messages, lambda found: found.left_out),
        troubles=waiting,
        outside_troubles=waiting,
        unexplained=waiting,
        harmless=waiting,
        crash_records=read_crashes(tree),
    )


def read_message(tree: KernelTree, place: str) -> KernelMessage:
    """One message, not yet sorted."""
    messages = ask_messages(tree)
    found = {one.place: one for one in messages.value.shown} if isinstance(messages, Value) else {}
    if place not in found:
        raise LookupError(place)
    return _show(tree, found[place])


def read_crashes(tree: KernelTree) -> Reading[tuple[str, ...]]:
    """The names in the store; a folder on which no store is mounted is empty and says nothing."""
    mounts = read_bytes(tree, MOUNTS)
    if not isinstance(mounts, Value):
        return mounts
    if f" /{CRASHES} pstore " not in decode_text(mounts.value):
        advice = "mount the store of the firmware (pstore), and read again"
        return Unreadable(error="NOT_MOUNTED", advice=advice, sources=mounts.sources)
    return list_folder(tree, CRASHES)


def _show(tree: KernelTree, message: Message) -> KernelMessage:
    sources = (QUESTION,)
    named = name_device(tree, message.record)
    waiting = Unreadable(error="NOT_SORTED", advice=NOT_SORTED, sources=sources)
    return KernelMessage(
        place=message.place,
        label=f"message {message.record.sequence}",
        position=read_position(tree, named.place) if named and named.place else Position.UNKNOWN,
        text=Value(value=message.text, sources=sources),
        severity=Value(value=SEVERITIES[message.level], sources=sources),
        times=Value(value=message.times, sources=sources),
        first_microseconds=Value(value=message.record.microseconds, sources=sources),
        about_device=_about(named),
        named_by=convert(_about(named), lambda _: named.by if named else ""),
        identifiers=Value(value=identifiers_in(message.record.text), sources=sources),
        nature=waiting,
        explanation=waiting,
    )


def _about(named: NamedDevice | None) -> Reading[str]:
    if named is None:
        return Absent(reason="the message names no device", sources=(QUESTION,))
    return Value(value=named.place or named.name, sources=(QUESTION, *named.sources))


READERS: Final = (
    Reader(kind="kernel_log", find=find_log, read=read_log),
    Reader(kind="kernel_message", find=find_messages, read=read_message),
)
