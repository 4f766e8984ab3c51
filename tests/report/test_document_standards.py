"""What of PDF/A-3 and PDF/UA-1 can be asked of the objects, by another library than the typesetter.

The numbers are those of ISO 19005-3 and ISO 14289-1. Debian has a validator of PDF/A-1b, asked for
all that part 3 did not change; what is not asked here, the typesetter alone answers for.
"""

import re
from collections.abc import Callable, Iterator
from functools import cache
from itertools import pairwise
from pathlib import Path
from typing import Any

import pytest

from oracles import preflight
from strategies.documents import SEAL, document_of, small_report, told_by, unrun_document

pytestmark = pytest.mark.wheel_oracle
FORBIDDEN = {
    *("/JavaScript", "/JS", "/Launch", "/Sound", "/Movie", "/ResetForm", "/ImportData", "/Hide"),
    *("/SetOCGState", "/Rendition", "/Trans", "/GoTo3DView", "/OpenAction", "/AA", "/XFA"),
    *("/URI", "/GoToR", "/SubmitForm", "/LZWDecode", "/JBIG2Decode", "/Crypt", "/TransferFunction"),
}
"""Actions, filters and entries of 6.1.7, 6.4, 6.5 and 6.6; and links out, which we have none of."""


@cache
def made() -> bytes:
    return document_of(small_report(), {"report.jws": SEAL, "evidence.jsonl.gz": b"\x1f\x8b\xff"})


@cache
def opened(raw: bytes) -> Any:  # noqa: ANN401 - the library has few types
    from closeout.report.pdf_parts import read_pdf  # noqa: PLC0415 - with the library

    return read_pdf(raw)


def objects(raw: bytes) -> Iterator[Any]:
    reader = opened(raw)
    for table in reader.xref.values():
        for number in table:
            if number:
                yield reader.get_object(number)


def catalogue() -> Any:  # noqa: ANN401 - as above
    return opened(made()).trailer["/Root"]


def test_the_file_itself() -> None:
    """6.1.2 header and comment, 6.1.3 trailer: an ID, no Encrypt, nothing behind the end."""
    raw = made()
    assert re.match(rb"%PDF-1\.[0-7]\n%[\x80-\xff]{4}", raw)
    assert raw.rstrip(b"\n").endswith(b"%%EOF")
    trailer = opened(raw).trailer
    assert len(trailer["/ID"]) == 2
    assert "/Encrypt" not in trailer


def test_nothing_acts_and_nothing_leads_out() -> None:
    for found in objects(made()):
        assert not FORBIDDEN & set(re.findall(r"/[A-Za-z0-9]+", repr(found)))


def test_it_says_what_it_is() -> None:
    """6.6.4: part and conformance; 14289-1, 5: part; 6.6.2: the metadata is not packed."""
    stream = catalogue()["/Metadata"]
    assert "/Filter" not in stream
    told = stream.get_data().decode()
    assert "<pdfaid:part>3</pdfaid:part><pdfaid:conformance>A</pdfaid:conformance>" in told
    assert "<pdfuaid:part>1</pdfuaid:part>" in told


def test_metadata_and_information_agree() -> None:
    """6.6.3."""
    told = catalogue()["/Metadata"].get_data().decode()
    facts = opened(made()).trailer["/Info"]
    for key in ("/Title", "/Author", "/Keywords", "/Creator"):
        assert facts[key] in told


def test_colours_have_a_profile() -> None:
    """6.2.3: one output intent with an ICC profile of three colours, for all of DeviceRGB."""
    (intent,) = catalogue()["/OutputIntents"]
    assert intent["/S"] == "/GTS_PDFA1"
    profile = intent["/DestOutputProfile"]
    assert profile["/N"] == 3
    assert profile.get_data()[36:40] == b"acsp"
    assert "/DeviceCMYK" not in repr(list(objects(made())))


@pytest.mark.oracle
def test_fonts_are_in_it_with_a_way_back_to_characters() -> None:
    """6.2.11.4 embedding, 6.2.11.7 Unicode, as poppler sees them."""
    _, _, *fonts = told_by("pdffonts", made(), "{}").splitlines()
    assert len(fonts) >= 3
    for font in fonts:
        assert re.search(r" yes yes yes +\d+ +0$", font), font


def test_files_are_associated() -> None:
    """6.8 and annex E: each has both names, a relation, what it is, and when it was of that."""
    wanted = {
        "report.json": ("/Source", "/application/json"),
        "report.jws": ("/Supplement", "/application/jose"),
        "evidence.jsonl.gz": ("/Data", "/application/gzip"),
        "colophon.json": ("/Supplement", "/application/json"),
    }
    found = {}
    for specification in (each.get_object() for each in catalogue()["/AF"]):
        stream = specification["/EF"]["/F"]
        assert specification["/F"] == specification["/UF"]
        assert specification["/Desc"]
        assert "/ModDate" in stream["/Params"]
        found[specification["/UF"]] = (specification["/AFRelationship"], stream["/Subtype"])
    assert found == wanted
    assert catalogue()["/Names"]["/EmbeddedFiles"]["/Names"][::2] == sorted(wanted)


def test_it_is_tagged_in_a_language_and_has_a_title() -> None:
    """14289-1: 7.1 marked content and title, 7.2 language, 7.18.3 order of tabs."""
    assert catalogue()["/MarkInfo"]["/Marked"]
    assert catalogue()["/Lang"] == "en"
    assert catalogue()["/ViewerPreferences"]["/DisplayDocTitle"]
    assert opened(made()).trailer["/Info"]["/Title"].startswith("Hold - WO-20417, attempt 2")
    assert all("/StructParents" in page for page in opened(made()).pages)


def tags(raw: bytes) -> list[tuple[str, Any]]:
    """The elements of its structure in the order in which they are read out."""
    told: list[tuple[str, Any]] = []

    def walk(element: Any) -> None:  # noqa: ANN401 - as above
        whole = element.get_object()
        if isinstance(whole, list):
            for each in whole:
                walk(each)
        elif hasattr(whole, "get"):
            if "/S" in whole:
                told.append((str(whole["/S"]), whole))
            if "/K" in whole:
                walk(whole["/K"])

    walk(opened(raw).trailer["/Root"]["/StructTreeRoot"])
    return told


@pytest.mark.parametrize("raw", [made, unrun_document], ids=["report", "unrun"])
def test_pictures_have_words_and_headings_skip_no_level(raw: Any) -> None:  # noqa: ANN401
    found = tags(raw())
    figures = [element for kind, element in found if kind == "/Figure"]
    assert figures
    assert all(element["/Alt"] for element in figures)
    levels = [int(kind[2:]) for kind, _ in found if re.fullmatch(r"/H\d", kind)]
    assert levels[0] == 1
    assert levels.count(1) == 1
    assert all(after - before <= 1 for before, after in pairwise(levels))


def test_every_table_has_heads_for_its_columns() -> None:
    """14289-1, 7.5."""
    tables = [element for kind, element in tags(made()) if kind == "/Table"]
    assert len(tables) >= 3
    scopes = [element for kind, element in tags(made()) if kind == "/TH"]
    assert len(scopes) >= len(tables)
    assert all("/Column" in repr(element["/A"].get_object()) for element in scopes)


@pytest.mark.oracle
def test_it_is_read_in_the_order_of_the_story() -> None:
    """What poppler reads out along the structure, which is what a screen reader says."""
    told = " ".join(told_by("pdfinfo", made(), "-struct-text", "{}").split())
    places = [
        told.index(f'"{words}"')
        for words in ("Hold", "Why", "Do first", "Unit", "This check", "This document")
    ]
    assert places == sorted(places)
    assert "page 1 of" not in told


@pytest.mark.oracle
@pytest.mark.skipif(bool(preflight.reason_to_skip()), reason=preflight.reason_to_skip())
@pytest.mark.parametrize("make", [made, unrun_document])
def test_a_validator_of_part_one_finds_nothing_that_part_three_forbids(
    make: Callable[[], bytes], tmp_path: Path
) -> None:
    file = tmp_path / "report.pdf"
    file.write_bytes(make())
    assert preflight.find_errors(file) == set()


@pytest.mark.oracle
@pytest.mark.skipif(bool(preflight.reason_to_skip()), reason=preflight.reason_to_skip())
@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        (rb"/FontFile2 ", rb"/FontFileX ", "FontFile entry is missing from FontDescriptor"),
        (rb"(?<= 2 2 )\d{3}", rb"777", "is inconsistent with the width (777.0)"),
        (rb"(?<=/S)/GTS_PDFA1", rb"/GTS_PDFX1", "The S entry of the OutputIntent"),
    ],
)
def test_the_validator_sees_what_is_broken(
    old: bytes, new: bytes, said: str, tmp_path: Path
) -> None:
    file = tmp_path / "report.pdf"
    broken = re.sub(old, new, made())
    assert broken != made()
    file.write_bytes(broken)
    assert any(said in each for each in preflight.find_errors(file))
