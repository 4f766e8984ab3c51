r"""Records of the kernel's log as `/dev/kmsg` gives them, and the answer that holds many of them.

Layout: Documentation/ABI/testing/dev-kmsg. `PRIORITY,SEQUENCE,MICROSECONDS,FLAGS[,...];TEXT`,
then lines of ` KEY=VALUE`. Bytes that cannot be printed and the backslash are written `\xNN`. A
field `caller=T12` or `caller=C1` stands there where the kernel was built to tell it
(CONFIG_PRINTK_CALLER).

A line may come in pieces. The kernel puts a piece behind its line, unless somebody else wrote in
between: then it is a record by itself, flagged `c`, at the level of lines that have none
(`vprintk_store`, kernel/printk/printk.c). On Linux 6.12 with two processors:

    6,9790,20543780,-;Console: switching
    12,9791,20543797,-;what a program wrote
    4,9792,20543808,c;to colour dummy device 80x25

The answer to the question "kernel log" has one line of counts before the records:
`read=1303 lost=0 left_out=0`.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from typing import Final

from closeout.decode.failure import DecodeError
from closeout.decode.plain_text import decode_text
from closeout.model.frozen import frozen, replace
from closeout.model.late_pattern import late_pattern

QUESTION: Final = "kernel log"
WARNING: Final = 4
"""Levels up to this one are a warning or worse (linux/kern_levels.h)."""
SEVERITIES: Final = (
    "emergency",
    "alert",
    "critical",
    "error",
    "warning",
    "notice",
    "informational",
    "debug",
)
"""By level, as RFC 5424 names them in table 2."""
KERNEL: Final = 0
"""The facility that no program can put on a record."""

PREFIX: Final = late_pattern(rb"(\d{1,5}),(\d{1,20}),(\d{1,20}),([^,;\n]*)([^;\n]*);")
COUNTS: Final = late_pattern(rb"read=(\d{1,20}) lost=(\d{1,20}) left_out=(\d{1,20})\n")
ESCAPE: Final = late_pattern(rb"\\x([0-9a-fA-F]{2})")
CALLER: Final = late_pattern(rb",caller=([^,]*)")
FRAGMENT: Final = b"c"
LEVEL_BITS: Final = 3
NEAR: Final = 8
"""Records further apart than this are not taken for pieces of one line; one between is usual."""


@frozen
class LogRecord:
    """One record; `properties` are the pairs of its dictionary, `caller` is empty if not told."""

    level: int
    facility: int
    sequence: int
    microseconds: int
    is_fragment: bool
    caller: str
    text: str
    properties: tuple[tuple[str, str], ...]

    def property_of(self, key: str) -> str:
        """The value under a key of the dictionary; empty where there is none."""
        return dict(self.properties).get(key, "")


@frozen
class LogCounts:
    """How many records were read, were overwritten before that, and were too many to keep."""

    read: int
    lost: int
    left_out: int


@frozen
class LogExcerpt:
    """What was kept of the log."""

    counts: LogCounts
    records: tuple[LogRecord, ...]


def encode_excerpt(counts: LogCounts, records: Iterable[bytes]) -> bytes:
    """The answer that holds these records, each as it was read."""
    head = f"read={counts.read} lost={counts.lost} left_out={counts.left_out}\n".encode("ascii")
    return head + b"".join(record.rstrip(b"\n") + b"\n" for record in records)


def decode_excerpt(raw: bytes) -> LogExcerpt:
    """The records of an answer, in order; the pieces of one line are put together.

    Raises DecodeError where the bytes are no such answer.
    """
    found = COUNTS.match(raw)
    if found is None:
        raise DecodeError("kernel log", 0, "a line of counts was expected")
    read, lost, left_out = (int(digits) for digits in found.groups())
    records = [_decode_record(piece, offset) for offset, piece in _pieces(raw, found.end())]
    counts = LogCounts(read=read, lost=lost, left_out=left_out)
    return LogExcerpt(counts=counts, records=tuple(map(_joined, _lines_of(records))))


def decode_record(raw: bytes) -> LogRecord:
    """One record as one read of the device gives it; raises DecodeError where it is none."""
    return _decode_record(raw, 0)


def _lines_of(records: Sequence[LogRecord]) -> Iterable[list[LogRecord]]:
    """The pieces of each line, in the order in which the lines begin."""
    lines: dict[int, list[LogRecord]] = {}
    line_of: list[int] = []
    for number, record in enumerate(records):
        back = distance_to_line(records[max(0, number - NEAR) : number], record)
        line_of.append(line_of[number - back] if back else number)
        lines.setdefault(line_of[number], []).append(record)
    return lines.values()


def _joined(pieces: Sequence[LogRecord]) -> LogRecord:
    """The first with the texts of all: the level and the time are those of the line."""
    if len(pieces) == 1:
        return pieces[0]
    return replace(pieces[0], text="".join(piece.text for piece in pieces))


def distance_to_line(before: Sequence[LogRecord], record: LogRecord) -> int:
    """How many records back the line is that a piece goes on with.

    0 for a whole record, and for a piece whose line is not among the last `NEAR`.
    """
    if record.is_fragment:
        for back in range(1, min(NEAR, len(before)) + 1):
            if _goes_on_in(before[-back], record):
                return back
    return 0


def _pieces(raw: bytes, offset: int) -> Iterator[tuple[int, bytes]]:
    """Where each record begins, and its lines: those that start with a space belong to it."""
    start = offset
    while start < len(raw):
        end = raw.find(b"\n", start)
        while end >= 0 and raw.startswith(b" ", end + 1):
            end = raw.find(b"\n", end + 1)
        end = len(raw) if end < 0 else end
        yield start, raw[start:end]
        start = end + 1


def _decode_record(raw: bytes, offset: int) -> LogRecord:
    found = PREFIX.match(raw)
    if found is None:
        raise DecodeError("kernel log", offset, "a record was expected")
    priority, sequence, microseconds = (int(found[index]) for index in (1, 2, 3))
    text, *lines = raw[found.end() :].removesuffix(b"\n").split(b"\n")
    caller = CALLER.search(found[5])
    pairs = (line.removeprefix(b" ").partition(b"=") for line in lines)
    return LogRecord(
        level=priority & ((1 << LEVEL_BITS) - 1),
        facility=priority >> LEVEL_BITS,
        sequence=sequence,
        microseconds=microseconds,
        is_fragment=FRAGMENT in found[4],
        caller=_unescaped(caller[1]) if caller else "",
        text=_unescaped(text),
        properties=tuple(
            (_unescaped(key), _unescaped(value)) for key, mark, value in pairs if mark and key
        ),
    )


def _goes_on_in(line: LogRecord, piece: LogRecord) -> bool:
    """Whether a gap between words is open for this piece; that is how such lines are cut.

    Who cuts them so is common practice of the kernel's source; nothing in a record says that its
    line is not finished.
    """
    return (
        0 < piece.sequence - line.sequence <= NEAR
        and (line.caller, line.facility) == (piece.caller, piece.facility)
        and (line.text.endswith(" ") or piece.text.startswith(" "))
    )


def _unescaped(raw: bytes) -> str:
    return decode_text(ESCAPE.sub(lambda found: bytes.fromhex(found[1].decode("ascii")), raw))
