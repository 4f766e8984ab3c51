"""Evidence as one gzip file of JSON lines: a header, then a line for each record, sorted.

`zcat FILE` shows it, `zcat FILE | sha256sum` its digest. There is one way to write any evidence,
so the digest stands for the content; a file written in any other way is refused.
"""

from __future__ import annotations

import hashlib
import operator
import zlib
from collections.abc import Iterable, Iterator
from typing import Final, NoReturn

from closeout.kernel.evidence import Evidence, EvidenceError, Header, seal_journal
from closeout.kernel.header_line import FormatError, decode_header, encode_header
from closeout.kernel.privacy import forbid_core_dumps
from closeout.kernel.record import Journal, Record
from closeout.kernel.record_line import (
    Fields,
    LineError,
    decode_object,
    decode_objects,
    encode_record,
    record_of,
)
from closeout.kernel.secrecy import mask_text, scrub_record

MIB: Final = 1024 * 1024
LARGEST: Final = 64 * MIB
"""Of the decompressed lines together."""
LONGEST_LINE: Final = 10 * MIB
"""The largest answer that a tree gives, each of its characters escaped, fits."""
MOST_LINES: Final = 200_000
GZIP: Final = 31
"""zlib's window bits for a gzip wrapper; the wrapper it writes has no time and no name."""
CAPTURE_AGAIN: Final = "capture again"


def encode_evidence(evidence: Evidence) -> bytes:
    """The file's bytes: the same for the same evidence, on machines that compress alike.

    Raises:
        EvidenceError: more than `decode_evidence` would take back.
    """
    lines = encode_lines(evidence)
    if excess := _excess(lines):
        raise EvidenceError("evidence", excess, "take out of the source what is no unit's")
    compressor = zlib.compressobj(wbits=GZIP)
    return compressor.compress(lines) + compressor.flush()


def digest_evidence(evidence: Evidence) -> str:
    """SHA-256 over the decompressed file, in hex."""
    return hashlib.sha256(encode_lines(evidence)).hexdigest()


def encode_lines(evidence: Evidence) -> bytes:
    """The decompressed file."""
    return _LATEST.lines(evidence)


class _Latest:
    """The lines of the evidence that was encoded last: a run needs them for check, digest and file.

    It is known by what it is, not by its content: to compare would cost as much as to encode.
    """

    def __init__(self) -> None:
        self._evidence: Evidence | None = None
        self._lines = b""

    def lines(self, evidence: Evidence) -> bytes:
        """The lines, made anew for any other evidence than the last."""
        if evidence is not self._evidence:
            lines = [encode_header(evidence.header), *map(encode_record, evidence.records)]
            self._lines = "".join(f"{line}\n" for line in lines).encode("ascii")
            self._evidence = evidence
        return self._lines


_LATEST: Final = _Latest()


def decode_evidence(raw: bytes, *, name: str = "evidence", secret: bytes | None = None) -> Evidence:
    """The evidence in a file's bytes, whoever wrote them; licence keys in it do not get through.

    Raises:
        EvidenceError: damaged, too large, of another format, or not as this agent writes it;
            `name` says which file.
    """
    forbid_core_dumps()
    lines = _decompress(raw, name)
    if excess := _excess(lines):
        raise EvidenceError(name, excess, CAPTURE_AGAIN)
    texts = _split(lines, name)
    evidence = Evidence(
        header=_decode_header(texts[0], name), records=_decode_records(texts[1:], name)
    )
    if not _is_canonical(evidence, lines):
        raise EvidenceError(name, "not in the form in which evidence is written", CAPTURE_AGAIN)
    return _scrubbed(evidence, secret)


def _decompress(raw: bytes, name: str) -> bytes:
    decompressor = zlib.decompressobj(wbits=GZIP)
    try:
        lines = decompressor.decompress(raw, LARGEST + 1)
    except zlib.error:
        raise EvidenceError(name, "no gzip file, or a damaged one", CAPTURE_AGAIN) from None
    if len(lines) <= LARGEST and not decompressor.eof:
        raise EvidenceError(name, "its end is missing", "copy it again, or capture again")
    if decompressor.unused_data:
        raise EvidenceError(name, "something follows its end", CAPTURE_AGAIN)
    return lines


def _excess(lines: bytes) -> str:
    if len(lines) > LARGEST:
        return f"more than {LARGEST // MIB} MiB in it"
    if lines.count(b"\n") > MOST_LINES:
        return f"more than {MOST_LINES} lines"
    if max(map(len, lines.split(b"\n"))) > LONGEST_LINE:
        return f"more than {LONGEST_LINE // MIB} MiB in one line"
    return ""


def _split(lines: bytes, name: str) -> list[str]:
    if not lines.endswith(b"\n"):
        raise EvidenceError(name, "its last line has no end", CAPTURE_AGAIN)
    try:
        return lines.decode("ascii").split("\n")[:-1]
    except UnicodeDecodeError as failure:
        _refuse(name, lines.count(b"\n", 0, failure.start) + 1, "a byte that is not ASCII")


def _decode_header(line: str, name: str) -> Header:
    try:
        return decode_header(line)
    except FormatError as failure:
        advice = "use the agent that wrote it, or capture again"
        raise EvidenceError(name, str(failure), advice) from None
    except LineError as failure:
        _refuse(name, 1, str(failure))


def _decode_records(lines: list[str], name: str) -> tuple[Record, ...]:
    records: list[Record] = []
    for number, fields in enumerate(_objects(lines, name), start=2):
        try:
            record = record_of(fields)
        except LineError as failure:
            _refuse(name, number, str(failure))
        if records and record.question <= records[-1].question:
            same = record.question == records[-1].question
            _refuse(name, number, "the same question twice" if same else "out of order")
        records.append(record)
    return tuple(records)


def _objects(lines: list[str], name: str) -> Iterable[Fields]:
    """What is on each line; one by one where all at once does not work, to say which is wrong."""
    try:
        return decode_objects(lines)
    except LineError:
        return _one_by_one(lines, name)


def _one_by_one(lines: list[str], name: str) -> Iterator[Fields]:
    for number, line in enumerate(lines, start=2):
        try:
            yield decode_object(line)
        except LineError as failure:
            _refuse(name, number, str(failure))


def _is_canonical(evidence: Evidence, lines: bytes) -> bool:
    try:
        return encode_lines(evidence) == lines
    except LineError:
        return False


def _scrubbed(evidence: Evidence, secret: bytes | None) -> Evidence:
    """Evidence made by hand could hold a raw table or key: the recorder's care is taken again."""
    scrubbed = [scrub_record(record, secret) for record in evidence.records]
    line = encode_header(evidence.header)
    masked = mask_text(line)
    if masked == line and all(map(operator.is_, scrubbed, evidence.records)):
        return evidence
    journal: Journal = {}
    for record in scrubbed:
        journal.setdefault(record.question, record)
    return seal_journal(decode_header(masked), journal)


def _refuse(name: str, line: int, what: str) -> NoReturn:
    raise EvidenceError(f"{name}, line {line}", what, CAPTURE_AGAIN)
