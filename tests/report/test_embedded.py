"""Files taken out of a stranger's PDF: those of ours alone, within limits, or one plain refusal."""

import zlib
from contextlib import suppress
from typing import Final

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from closeout.report import embedded
from closeout.report.embedded import MOST_FILES, parse_document
from closeout.report.failure import DocumentError
from strategies.documents import document_of, small_report
from strategies.pdf_file import Stream, write_pdf

pytestmark = pytest.mark.wheel_oracle
REPORT: Final = b'{"report": 1}'


def pdf_with(names: str, *streams: Stream) -> bytes:
    """A catalogue with these names; objects 2 and up are the streams."""
    return write_pdf(f"<</Type/Catalog/Names<</EmbeddedFiles {names}>>>>", *streams)


def named(number: int, name: str = "report.json") -> str:
    return f"({name}) <</Type/Filespec/EF<</F {number} 0 R>>>>"


def test_a_file_is_taken_out_by_its_name() -> None:
    packed = Stream(zlib.compress(REPORT), "/Filter/FlateDecode")
    assert parse_document(pdf_with(f"<</Names[{named(2)}]>>", packed)) == {"report.json": REPORT}
    branch = f"<</Kids[<</Names[{named(2)}]>>]>>"
    assert parse_document(pdf_with(branch, Stream(REPORT))) == {"report.json": REPORT}


@pytest.mark.parametrize("names", ["null", "<<>>", "[]", "<</Names 7>>", "<</Kids[1 2 (x)]>>"])
def test_what_holds_nothing_gives_nothing(names: str) -> None:
    assert parse_document(pdf_with(names)) == {}


def test_what_none_of_ours_is_called_is_not_looked_at() -> None:
    names = f"<</Names[{named(2, '../../etc/passwd')} {named(2, 'REPORT.JSON')}]>>"
    assert parse_document(pdf_with(names, Stream(b"x"))) == {}


@pytest.mark.parametrize(
    ("names", "stream", "said"),
    [
        (f"<</Names[{named(2)} {named(2)}]>>", Stream(REPORT), "holds report.json twice"),
        (f"<</Names[{named(9)}]>>", Stream(REPORT), "can be read"),
        ("<</Names[(report.json) 7]>>", Stream(REPORT), "names report.json and does not"),
        (
            f"<</Names[{named(2)}]>>",
            Stream(REPORT, "/Filter/ASCIIHexDecode"),
            "holds report.json packed in a way",
        ),
        (
            f"<</Names[{named(2)}]>>",
            Stream(REPORT, "/Filter[/FlateDecode/FlateDecode]"),
            "holds report.json packed in a way",
        ),
        (
            f"<</Names[{named(2)}]>>",
            Stream(zlib.compress(REPORT), "/Filter/FlateDecode/DecodeParms<</Predictor 12>>"),
            "holds report.json packed in a way",
        ),
        (
            f"<</Names[{named(2, 'colophon.json')}]>>",
            Stream(b"x" * ((1 << 16) + 1)),
            "holds a colophon.json of more than 65536 bytes",
        ),
        ("<</Names[" + "(x) 1 " * (MOST_FILES + 1) + "]>>", Stream(b""), "holds more than 16"),
        ("<</Kids[" + "<<>>" * 99 + "]>>", Stream(b""), "has a tree of names of more than 64"),
    ],
)
def test_what_none_of_ours_holds_is_refused(names: str, stream: Stream, said: str) -> None:
    with pytest.raises(DocumentError, match=said):
        parse_document(pdf_with(names, stream))


def test_what_does_not_unpack_is_no_report() -> None:
    """The library gives what it could unpack; whoever loads it finds that it is none."""
    broken = zlib.compress(REPORT * 99)[:20]
    names = f"<</Names[{named(2)}]>>"
    found = parse_document(pdf_with(names, Stream(broken, "/Filter/FlateDecode")))
    assert len(found["report.json"]) < len(REPORT * 99)


def test_a_tree_of_names_without_end_is_refused() -> None:
    raw = write_pdf("<</Type/Catalog/Names<</EmbeddedFiles 2 0 R>>>>", "<</Kids[2 0 R 2 0 R]>>")
    with pytest.raises(DocumentError, match="more than 64 parts"):
        parse_document(raw)


def test_a_bomb_does_not_go_off() -> None:
    """Two hundred megabytes of zeros: given up at the library's bound of 75."""
    packer = zlib.compressobj(9)
    packed = b"".join(packer.compress(bytes(1 << 20)) for _ in range(200)) + packer.flush()
    bomb = Stream(packed, "/Filter/FlateDecode")
    with pytest.raises(DocumentError, match="can be read"):
        parse_document(pdf_with(f"<</Names[{named(2)}]>>", bomb))


@pytest.mark.parametrize(
    "raw", [b"", b"%PDF-1.7\n", b"PK\x03\x04", b"%PDF-1.7\nstartxref\n0\n%%EOF"]
)
def test_what_is_no_pdf_is_refused(raw: bytes) -> None:
    with pytest.raises(DocumentError, match="is no PDF"):
        parse_document(raw)


@given(at=st.integers(0, 10**6), change=st.integers(1, 255))
@settings(max_examples=60)
@pytest.mark.unmeasured
def test_a_changed_byte_gives_files_or_a_refusal(at: int, change: int) -> None:
    raw = bytearray(made())
    raw[at % len(raw)] ^= change
    with suppress(DocumentError):
        assert set(parse_document(bytes(raw))) <= set(embedded.BY_NAME)


def made() -> bytes:
    return document_of(small_report()) if not MADE else MADE[0]


MADE: list[bytes] = []


@pytest.fixture(autouse=True, scope="module")
def _made_once() -> None:
    MADE.append(document_of(small_report()))
