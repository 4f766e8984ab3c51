"""The files in a report file: one ZIP with the length and the digest of itself at its very end.

The container is the ZIP of PKWARE's APPNOTE 6.3.10: local headers (4.3.7), the central directory
(4.3.12) and its end (4.3.16), of which only what a report needs is taken: stored or deflated
members, one volume, nothing encrypted. Its comment, the last bytes of the file, is

    closeout 000000012345 sha256:9f86d081…

The number counts the bytes before the comment, and the digest is theirs: a file of which the end is
missing, or another one's bytes stand in it, is known without anything else.
"""

from __future__ import annotations

import hashlib
import re
import struct
import zlib
from collections.abc import Iterator
from typing import Final

from closeout.decode.failure import DecodeError
from closeout.model.frozen import frozen

WHAT: Final = "report file"
LOCAL: Final = struct.Struct("<4s5H3I2H")
CENTRAL: Final = struct.Struct("<4s6H3I5H2I")
END: Final = struct.Struct("<4s4H2IH")
STORED, DEFLATED = 0, 8
ENCRYPTED: Final = 0x0001
CLOSING_LENGTH: Final = 93
CLOSING: Final = re.compile(rb"closeout (\d{12}) sha256:([0-9a-f]{64})")
MEMBER: Final = re.compile(rb"[A-Za-z0-9_-][A-Za-z0-9._-]*(/[A-Za-z0-9][A-Za-z0-9._-]*){2}")
"""Order, attempt and file: unpacked it can lead nowhere else."""
MOST_MEMBERS: Final = 64
LARGEST_MEMBER: Final = 64 << 20
LARGEST_TOTAL: Final = 2 * LARGEST_MEMBER
"""All of them together: evidence may be as long as one, and the others are short."""


class CutShortError(DecodeError):
    """The end of the file is missing: whoever wrote it was stopped half way."""


@frozen
class Member:
    """One file in a report file, `T-1/attempt-0001-3fa2c1d9/report.json`."""

    name: str
    content: bytes


@frozen
class ReportFile:
    """All of them, in the order of the directory; their names are different."""

    members: tuple[Member, ...]


def make_closing(body: bytes) -> bytes:
    """What stands behind these bytes: their length and their digest."""
    digest = hashlib.sha256(body).hexdigest()
    return f"closeout {len(body):012d} sha256:{digest}".encode("ascii")


def decode_report_file(raw: bytes) -> ReportFile:
    """The members of a whole report file.

    Raises CutShortError where the last line is missing, and DecodeError for everything else
    that is not as it was written.
    """
    body = _body_of(raw)
    ending = len(body) - END.size
    if ending < 0:
        raise DecodeError(WHAT, 0, "shorter than the end of a directory")
    mark, disk, first, here, entries, size, at, comment = END.unpack_from(body, ending)
    if mark != b"PK\x05\x06" or disk or first or here != entries or comment != CLOSING_LENGTH:
        raise DecodeError(WHAT, ending, "no end of a directory stands before the last line")
    if at + size != ending or not 0 < entries <= MOST_MEMBERS:
        raise DecodeError(WHAT, ending, "the directory is not where its end says")
    members = tuple(_members(body, at, ending, entries))
    if len({member.name.casefold() for member in members}) != len(members):
        raise DecodeError(WHAT, at, "two files of one name")
    return ReportFile(members=members)


def _body_of(raw: bytes) -> bytes:
    """The bytes that the last line is of."""
    begin = max(0, len(raw) - CLOSING_LENGTH)
    closing = CLOSING.fullmatch(raw[begin:])
    if closing is None:
        if raw[:4] != b"PK\x03\x04"[: len(raw)]:
            raise DecodeError(WHAT, 0, "does not begin as a report file does")
        if CLOSING.search(raw):
            raise DecodeError(WHAT, begin, "more bytes stand behind its last line")
        raise CutShortError(WHAT, len(raw), "its end is missing")
    body = raw[:begin]
    if int(closing[1]) != len(body):
        raise DecodeError(
            WHAT, begin, f"{len(body)} bytes, and its last line is of {int(closing[1])}"
        )
    if hashlib.sha256(body).hexdigest() != closing[2].decode("ascii"):
        raise DecodeError(WHAT, 0, "its bytes have another digest than its last line says")
    return body


def _members(body: bytes, at: int, ending: int, entries: int) -> Iterator[Member]:
    total = 0
    for _ in range(entries):
        if at + CENTRAL.size > ending:
            raise DecodeError(WHAT, at, "the directory ends within an entry")
        mark, _, _, flags, method, _, _, crc, packed, size, *rest = CENTRAL.unpack_from(body, at)
        name_length, extra, comment, _, _, _, place = rest
        behind = at + CENTRAL.size + name_length
        name = body[at + CENTRAL.size : behind]
        if mark != b"PK\x01\x02" or flags & ENCRYPTED or not MEMBER.fullmatch(name):
            raise DecodeError(WHAT, at, "no entry of a report's file")
        total += size
        if total > LARGEST_TOTAL:
            raise DecodeError(WHAT, at, "unpacks to more than any report")
        content = _unpacked(_packed(body, place, name, packed), method, size, at)
        if zlib.crc32(content) != crc:
            raise DecodeError(WHAT, at, "the content of a file has another checksum")
        yield Member(name=name.decode("ascii"), content=content)
        at = behind + extra + comment
    if at != ending:
        raise DecodeError(WHAT, at, "more in the directory than it counts")


def _packed(body: bytes, place: int, name: bytes, length: int) -> bytes:
    """The bytes of a member behind its local header, which has to name it too."""
    if place + LOCAL.size > len(body):
        raise DecodeError(WHAT, place, "a file is said to begin behind the end")
    mark, *_, name_length, extra = LOCAL.unpack_from(body, place)
    begin = place + LOCAL.size + name_length
    if mark != b"PK\x03\x04" or body[place + LOCAL.size : begin] != name:
        raise DecodeError(WHAT, place, "no file begins where the directory says")
    content = body[begin + extra : begin + extra + length]
    if len(content) != length:
        raise DecodeError(WHAT, place, "a file is longer than what is left")
    return content


def _unpacked(packed: bytes, method: int, size: int, at: int) -> bytes:
    """The content, never longer than a report's file can be."""
    if method not in {STORED, DEFLATED} or size > LARGEST_MEMBER:
        raise DecodeError(WHAT, at, "a file of a kind or size that no report has")
    content = packed
    if method == DEFLATED:
        try:
            content = zlib.decompressobj(-zlib.MAX_WBITS).decompress(packed, size + 1)
        except zlib.error as error:
            raise DecodeError(WHAT, at, f"a file does not unpack: {error}") from error
    if len(content) != size:
        raise DecodeError(WHAT, at, "a file has another length than the directory says")
    return content
