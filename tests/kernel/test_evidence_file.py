"""Evidence comes back from its file as it was, or one error says why not."""

import gzip
import hashlib
import json
import zlib

import pytest
from hypothesis import given
from hypothesis import strategies as st

from closeout.kernel import evidence_file
from closeout.kernel.evidence import Evidence, EvidenceError, Header, seal_journal
from closeout.kernel.evidence_file import (
    decode_evidence,
    digest_evidence,
    encode_evidence,
    encode_lines,
)
from closeout.kernel.record import Failure, Kind, Question, Record
from closeout.model.moment import Moment, ReferenceTime
from strategies.trees import evidences

HEADER = Header(
    agent="1.2.3",
    source="folder",
    kernel="6.1.0",
    started=Moment(text="2026-03-04T05:06:07Z", source="typed"),
    finished=Moment(text="2026-03-04T05:06:09Z", source="typed"),
)
STATUS = Question(kind=Kind.READ, text="sys/class/power_supply/BAT0/status")
NVME = Question(kind=Kind.NAMES, text="sys/class/nvme")
SMALL = seal_journal(
    HEADER,
    {
        STATUS: Record(question=STATUS, answer=b"Full\n", microseconds=57),
        NVME: Record(question=NVME, answer=Failure(number=2), microseconds=4),
    },
)
LINES = (
    b'{"closeout_evidence":1,"agent":"1.2.3","source":"folder","kernel":"6.1.0",'
    b'"started":{"text":"2026-03-04T05:06:07Z","source":"typed"},'
    b'"finished":{"text":"2026-03-04T05:06:09Z","source":"typed"},"unfinished":[]}\n'
    b'{"names":"sys/class/nvme","errno":"ENOENT","reason":"KERNEL","microseconds":4}\n'
    b'{"read":"sys/class/power_supply/BAT0/status","text":"Full\\n","microseconds":57}\n'
)


def decode_lines(lines: bytes) -> Evidence:
    return decode_evidence(gzip.compress(lines, mtime=0), name="unit.gz")


def error_of(lines: bytes) -> EvidenceError:
    with pytest.raises(EvidenceError) as caught:
        decode_lines(lines)
    return caught.value


def test_lines_are_sorted_and_readable() -> None:
    assert encode_lines(SMALL) == LINES


def test_file_is_gzip_without_time_or_name() -> None:
    raw = encode_evidence(SMALL)
    assert gzip.decompress(raw) == LINES
    assert raw[3:8] == b"\0\0\0\0\0"


def test_however_it_was_packed_it_is_written_in_one_way() -> None:
    """Nothing is left of the machine that packed it, a name or a time least of all."""
    ours = encode_evidence(SMALL)
    packer = zlib.compressobj(level=3, wbits=31)
    other = packer.compress(LINES) + packer.flush()
    named = ours[:3] + b"\x08" + ours[4:10] + b"of a customer\0" + ours[10:]
    timed = gzip.compress(LINES, mtime=1_700_000_000)
    for packed in (other, named, timed):
        assert packed != ours
        assert gzip.decompress(packed) == LINES
        assert encode_evidence(decode_evidence(packed)) == ours


def test_a_key_that_a_file_brings_is_not_written_again() -> None:
    key = b"ABCDE-FGHJK-LMNPQ-RSTUV-WXYZ2"
    packer = zlib.compressobj(wbits=31)
    file = packer.compress(LINES.replace(b"Full", key)) + packer.flush()
    assert key not in gzip.decompress(encode_evidence(decode_evidence(file)))


def test_digest_covers_the_decompressed_bytes() -> None:
    assert digest_evidence(SMALL) == hashlib.sha256(LINES).hexdigest()


@given(evidence=evidences())
def test_round_trip(evidence: Evidence) -> None:
    assert decode_evidence(encode_evidence(evidence)) == evidence


@given(evidence=evidences())
def test_same_evidence_same_bytes_whatever_the_order_of_asking(evidence: Evidence) -> None:
    backwards = {record.question: record for record in reversed(evidence.records)}
    assert encode_evidence(seal_journal(evidence.header, backwards)) == encode_evidence(evidence)


@given(raw=st.binary(max_size=200))
def test_any_bytes_are_refused_with_one_error(raw: bytes) -> None:
    with pytest.raises(EvidenceError):
        decode_evidence(raw)


@given(raw=st.binary(max_size=200))
def test_any_lines_are_refused_with_one_error(raw: bytes) -> None:
    error_of(raw)
    error_of(LINES + raw + b"\n")


@given(
    evidence=evidences(),
    place=st.floats(0, 1, exclude_max=True),
    replaced=st.binary(max_size=4),
    length=st.integers(0, 4),
)
def test_a_changed_line_is_refused_or_is_other_evidence(
    evidence: Evidence, place: float, replaced: bytes, length: int
) -> None:
    lines = encode_lines(evidence)
    start = int(place * len(lines))
    changed = lines[:start] + replaced + lines[start + length :]
    try:
        decoded = decode_lines(changed)
    except EvidenceError:
        return
    assert encode_lines(decoded) == changed


@given(place=st.floats(0, 1, exclude_max=True), bit=st.integers(0, 7))
def test_a_flipped_bit_is_noticed(place: float, bit: int) -> None:
    raw = bytearray(encode_evidence(SMALL))
    where = int(place * len(raw))
    raw[where] ^= 1 << bit
    try:
        decoded = decode_evidence(bytes(raw))
    except EvidenceError:
        return
    # Only the wrapper's own time, level and system bytes mean nothing to the content.
    assert where < 10
    assert decoded == SMALL


@pytest.mark.parametrize("length", [0, 1, 10, 60])
def test_a_missing_end_is_named(length: int) -> None:
    with pytest.raises(EvidenceError, match=r"unit\.gz: its end is missing; copy it again"):
        decode_evidence(encode_evidence(SMALL)[:length], name="unit.gz")


def test_something_behind_the_end_is_refused() -> None:
    with pytest.raises(EvidenceError, match="something follows its end"):
        decode_evidence(encode_evidence(SMALL) * 2)


def test_both_format_numbers_are_named() -> None:
    error = error_of(LINES.replace(b'"closeout_evidence":1', b'"closeout_evidence":7'))
    assert str(error) == (
        "unit.gz: its format is 7, and this agent reads format 1;"
        " use the agent that wrote it, or capture again"
    )


@pytest.mark.parametrize(
    ("before", "after", "where", "what"),
    [
        (b'"closeout_evidence":1', b'"closeout_evidence":true', "line 1", "no evidence"),
        (b'"closeout_evidence":1,', b"", "line 1", "no evidence"),
        (b'"agent":"1.2.3",', b"", "line 1", "no text as 'agent'"),
        (b'"agent":"1.2.3"', b'"agent":"1\\u0000"', "line 1", "no text as 'agent'"),
        (b'"source":"folder"', b'"source":[]', "line 1", "no text as 'source'"),
        (b'"unfinished":[]', b'"unfinished":{}', "line 1", "no 'unfinished'"),
        (b'"started":{"text"', b'"started":{"time"', "line 1", "no text as 'text'"),
        (b'"started":{', b'"started":1,"begun":{', "line 1", "no 'started'"),
        (b'"errno":"ENOENT","reason":"KERNEL"', b'"path":"x"', "line 2", "neither names"),
        (b'{"names"', b'["names"]#', "line 2", "no JSON"),
        (b'{"names"', b'["names"]\n{"names"', "line 2", "no JSON object"),
        (b'"names"', b'"name"', "line 2", "no question"),
        (b"ENOENT", b"ENOTHERE", "line 2", "an errno that does not exist"),
        (b"ENOENT", b"ERRNO_1x", "line 2", "an errno that does not exist"),
        (b'"ENOENT"', b"2", "line 2", "the errno is no text"),
        (b"KERNEL", b"FATE", "line 2", "a reason that does not exist"),
        (b'"microseconds":4', b'"microseconds":-4', "line 2", "a duration that cannot be"),
        (b'"microseconds":4', b'"microseconds":4.5', "line 2", "no duration"),
        (b'"microseconds":4}', b'"microseconds":4', "line 2", "no JSON"),
        (b'"text":"Full\\n"', b'"list":[]', "line 3", "neither content nor a failure"),
        (b'"text":"Full\\n"', b'"text":"\\ud800"', "line 3", "content that is no UTF-8"),
        (b'"text":"Full\\n"', b'"base64":"?"', "line 3", "content that is no UTF-8"),
        (b"BAT0", b"\\ud800", "line 3", "half a surrogate pair"),
        (b"BAT0", b"\xc3\xa9", "line 3", "a byte that is not ASCII"),
        (b'"sys/class/power_supply/BAT0/status"', b"[]", "line 3", "a text was expected"),
    ],
)
def test_place_and_fault_are_named(before: bytes, after: bytes, where: str, what: str) -> None:
    error = error_of(LINES.replace(before, after, 1))
    assert error.where == f"unit.gz, {where}"
    assert error.what.startswith(what)
    assert "\n" not in str(error)


def test_a_question_twice_is_refused() -> None:
    error = error_of(LINES + LINES.splitlines(keepends=True)[-1])
    assert (error.where, error.what) == ("unit.gz, line 4", "the same question twice")


def test_records_out_of_order_are_refused() -> None:
    header, first, second = LINES.splitlines(keepends=True)
    assert error_of(header + second + first).what == "out of order"


@pytest.mark.parametrize(
    "changed",
    [
        LINES.replace(b'"agent":', b'"agent": '),
        LINES.replace(b'"text":"Full\\n"', b'"base64":"RnVsbAo="'),
        LINES.replace(b'"text":"Full\\n"', b'"extra":1,"text":"Full\\n"'),
        LINES.replace(b'"microseconds":4}', b'"microseconds":4,"microseconds":4}'),
        LINES.replace(b'"unfinished":[]', b'"unfinished":[],"more":NaN'),
        LINES.replace(b'nvme",', b'nvme"\n').replace(b'4}\n{"read"', b'4},{"read"'),
    ],
)
def test_there_is_one_way_to_write_evidence(changed: bytes) -> None:
    assert error_of(changed).what == "not in the form in which evidence is written"


def test_a_last_line_without_end_is_refused() -> None:
    assert error_of(LINES[:-1]).what == "its last line has no end"


def test_unknown_header_keys_are_kept() -> None:
    changed = LINES.replace(b'"unfinished":[]', b'"unfinished":[],"later":{"b":1,"a":[2]}')
    decoded = decode_lines(changed)
    assert decoded.header.more == {"later": {"b": 1, "a": [2]}}
    assert encode_lines(decoded) == changed


@pytest.mark.parametrize("opening", [b"[", b'{"a":'])
def test_depth_is_limited(opening: bytes) -> None:
    assert error_of(LINES + opening * 100_000 + b"\n").what in {"nested too deeply", "no JSON"}


def test_depth_of_what_a_later_version_keeps_is_limited() -> None:
    deep = b"[" * 900 + b"]" * 900
    with pytest.raises(EvidenceError):
        decode_lines(LINES.replace(b"[]}", b'[],"later":' + deep * 2 + b"}", 1))


def test_a_bomb_is_not_unpacked() -> None:
    compressor = zlib.compressobj(wbits=31)
    piece = b"\n" * (1 << 20)
    bomb = b"".join(compressor.compress(piece) for _ in range(100)) + compressor.flush()
    with pytest.raises(EvidenceError, match="more than 64 MiB in it"):
        decode_evidence(bomb)


@pytest.mark.parametrize(
    ("limit", "size", "excess"),
    [
        ("LARGEST", 100, "MiB in it"),
        ("LONGEST_LINE", 90, "in one line"),
        ("MOST_LINES", 2, "lines"),
    ],
)
def test_what_could_not_be_read_back_is_not_written(
    monkeypatch: pytest.MonkeyPatch, limit: str, size: int, excess: str
) -> None:
    monkeypatch.setattr(evidence_file, limit, size)
    with pytest.raises(EvidenceError, match=excess):
        encode_evidence(SMALL)
    with pytest.raises(EvidenceError, match=excess):
        decode_lines(LINES)


def test_each_line_is_plain_json() -> None:
    assert [json.loads(line) for line in LINES.splitlines()]


REFERENCES = (
    b',"references":[{"text":"2026-03-04T05:06:07Z","source":"a","taken_at_microseconds":7}]'
)


def test_reference_times_come_back_and_older_files_have_none() -> None:
    lines = LINES.replace(b'"unfinished":[]', b'"unfinished":[]' + REFERENCES)
    moment = Moment(text="2026-03-04T05:06:07Z", source="a")
    found = decode_lines(lines)
    assert found.header.references == (ReferenceTime(moment=moment, taken_at_microseconds=7),)
    assert encode_lines(found) == lines
    assert decode_lines(LINES).header.references == ()


@pytest.mark.parametrize(
    "spoiled",
    [
        b',"references":{}',
        b',"references":[3]',
        b',"references":[{"text":"t","source":3,"taken_at_microseconds":7}]',
        b',"references":[{"text":"t","source":"s"}]',
        b',"references":[{"text":"t","source":"s","taken_at_microseconds":-1}]',
        b',"references":[{"text":"t","source":"s","taken_at_microseconds":true}]',
    ],
)
def test_reference_times_that_are_none_are_refused(spoiled: bytes) -> None:
    error = error_of(LINES.replace(b'"unfinished":[]', b'"unfinished":[]' + spoiled))
    assert "line 1" in error.where
