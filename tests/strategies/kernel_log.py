"""Records of the kernel's log, from fields to the bytes of one read of the device."""

from hypothesis import strategies as st

from closeout.decode.kernel_log import LogCounts, LogRecord, encode_excerpt

INTERRUPTED = (
    b"6,9790,20543780,-;Console: switching \n",
    b"12,9791,20543797,-;noise noise\n",
    b"4,9792,20543808,c;to colour dummy device 80x25\n",
)
"""Linux 6.12, two processors: a program wrote while the kernel was in the middle of a line.

Each as one read of the device gave it. The level of the last is none that anybody gave it: it is
the one for lines that have none of their own.
"""
BACKSLASH = 0x5C
SPACE, DELETE = 0x20, 0x7F


def escape(text: str) -> bytes:
    r"""As the kernel writes text: what cannot be printed, and the backslash, as `\xNN`."""
    return b"".join(
        bytes((byte,)) if SPACE <= byte < DELETE and byte != BACKSLASH else b"\\x%02x" % byte
        for byte in text.encode("utf-8")
    )


def build_record(record: LogRecord) -> bytes:
    """The record as one read gives it."""
    flag = b"c" if record.is_fragment else b"-"
    prefix = b"%d,%d,%d,%b" % (
        record.facility << 3 | record.level,
        record.sequence,
        record.microseconds,
        flag,
    )
    if record.caller:
        prefix += b",caller=" + record.caller.encode("ascii")
    pairs = b"".join(b" %b=%b\n" % (escape(key), escape(value)) for key, value in record.properties)
    return prefix + b";" + escape(record.text) + b"\n" + pairs


def line(text: str, *, sequence: int = 1, level: int = 4, device: str = "") -> LogRecord:
    """A record of the kernel with this text."""
    return LogRecord(
        level=level,
        facility=0,
        sequence=sequence,
        microseconds=sequence * 1000,
        is_fragment=False,
        caller="",
        text=text,
        properties=(("SUBSYSTEM", "drawn"), ("DEVICE", device)) if device else (),
    )


def answer_of(*records: LogRecord, lost: int = 0, left_out: int = 0) -> bytes:
    """The answer to the question "kernel log" that holds these records."""
    counts = LogCounts(read=len(records) + left_out, lost=lost, left_out=left_out)
    return encode_excerpt(counts, map(build_record, records))


keys = st.from_regex(r"[A-Z][A-Z_]{0,11}", fullmatch=True)
records = st.builds(
    LogRecord,
    level=st.integers(0, 7),
    facility=st.integers(0, 255),
    sequence=st.integers(0, 2**64 - 1),
    microseconds=st.integers(0, 2**63),
    is_fragment=st.booleans(),
    caller=st.from_regex(r"([TC][0-9]{1,6})?", fullmatch=True),
    text=st.text(st.characters(codec="utf-8")),
    properties=st.lists(
        st.tuples(keys, st.text(st.characters(codec="utf-8"))), max_size=3, unique_by=lambda p: p[0]
    ).map(tuple),
)
