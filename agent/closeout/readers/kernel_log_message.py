"""Records of the kernel's log to messages: what came again is one, and a dump is no message.

After a line such as `BUG: ...` the kernel prints registers, a call trace and lists of modules,
each as a record of its own (common practice of arch/x86/kernel/dumpstack.c and lib/dump_stack.c).
They say nothing about a device that the line before did not say.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from functools import lru_cache
from typing import Final

from closeout.decode.kernel_log import LogExcerpt, LogRecord, decode_excerpt
from closeout.model.frozen import frozen
from closeout.model.late_pattern import late_pattern

MOST_MESSAGES: Final = 100
"""The worst are shown; a log with more than so many different ones is a case for a person."""
LONGEST_TEXT: Final = 400

NUMBERS: Final = late_pattern(r"0x[0-9a-fA-F]+|\b[0-9a-f]{8,}\b|[0-9]+")
DUMP: Final = late_pattern(
    r"\s|(?:Call Trace|RIP|RSP|RAX|RDX|RBP|R08|R10|R13|FS|CS|CR2|DR0|DR3|PKRU|Code|CPU|Tainted"
    r"|Hardware name|Workqueue|Modules linked in|Kernel Offset|raw|page|page_type|flags)\b.*:"
    r"|page dumped because|---\[ end |-+\[ cut here|#PF:|PGD |Disabling lock debugging|Stack:"
)
ADDRESS: Final = late_pattern(r"\b(?:[0-9a-fA-F]{2}[:-]){5}[0-9a-fA-F]{2}\b")
SERIAL: Final = late_pattern(r"\b(?:SerialNumber|[Ss]erial(?: [Nn]umber)?|SN|S/N)\s*[:=]\s*(\S+)")
UUID: Final = late_pattern(r"\b[0-9a-fA-F]{8}(?:-[0-9a-fA-F]{4}){3}-[0-9a-fA-F]{12}\b")
NO_SERIAL: Final = late_pattern(r"[0-9]")
"""USB says `SerialNumber=3`, the number of a string: one digit is no serial number."""


@frozen
class Message:
    """The first record of its kind, the worst level among them, and how many there are."""

    record: LogRecord
    level: int
    times: int

    @property
    def place(self) -> str:
        """What tells it from the others of its log."""
        return f"kernel-log/{self.record.sequence}"

    @property
    def text(self) -> str:
        """The text on one line, cut with a mark where it is longer than any line should be."""
        text = " ".join(self.record.text.split())
        return text if len(text) <= LONGEST_TEXT else f"{text[:LONGEST_TEXT]} [...]"


@frozen
class Messages:
    """The messages worst first, the excerpt they come from, and how many records are in none."""

    excerpt: LogExcerpt
    shown: tuple[Message, ...]
    left_out: int


@lru_cache(maxsize=2)
def read_messages(raw: bytes) -> Messages:
    """The messages of an answer; raises DecodeError where it is none. Pure, so kept."""
    excerpt = decode_excerpt(raw)
    grouped: dict[tuple[str, str], list[LogRecord]] = {}
    for record in _without_dumps(excerpt.records):
        key = (NUMBERS.sub("#", record.text), record.property_of("DEVICE"))
        grouped.setdefault(key, []).append(record)
    messages = sorted(map(_message, grouped.values()), key=_rank)
    rest = messages[MOST_MESSAGES:]
    left_out = excerpt.counts.left_out + sum(message.times for message in rest)
    return Messages(excerpt=excerpt, shown=tuple(messages[:MOST_MESSAGES]), left_out=left_out)


def identifiers_in(text: str) -> tuple[str, ...]:
    """Hardware addresses, UUIDs and what is called a serial number, each once."""
    found = [match[0] for form in (ADDRESS, UUID) for match in form.finditer(text)]
    serials = (match[1].rstrip(".,;)") for match in SERIAL.finditer(text))
    found += [serial for serial in serials if serial and not NO_SERIAL.fullmatch(serial)]
    return tuple(dict.fromkeys(found))


def _without_dumps(records: Iterable[LogRecord]) -> Iterator[LogRecord]:
    seen = False
    for record in records:
        if seen and DUMP.match(record.text):
            continue
        seen = True
        yield record


def _message(records: list[LogRecord]) -> Message:
    return Message(
        record=records[0], level=min(record.level for record in records), times=len(records)
    )


def _rank(message: Message) -> tuple[int, int]:
    return message.level, message.record.sequence
