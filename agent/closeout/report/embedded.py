"""The files in a document: which can be there, how large, and out of a stranger's PDF again.

A PDF names them in its catalogue (ISO 32000-1, 7.11.4): a name tree of file specifications, each
with the stream of the file. pypdf reads it: it is Python alone, and bounds what a stream may unpack
to. Only what a document of ours holds is taken, each name once; the rest is not looked at.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Final

from closeout.model.frozen import frozen
from closeout.report.failure import DocumentError
from closeout.report.seal import LARGEST_SEAL, SEAL_FILE

REPORT: Final = "report.json"
EVIDENCE: Final = "evidence.jsonl.gz"
UNRUN: Final = "unrun.json"
UNRUN_SEAL: Final = "unrun.jws"
COLOPHON: Final = "colophon.json"
LARGEST_DOCUMENT: Final = 192 << 20
MOST_FILES: Final = 16
WAYS: Final = frozenset({"None", "/FlateDecode"})
MOST_PARTS: Final = 64
"""Of the tree of names: one of ours is a single leaf."""


@frozen
class Kind:
    """One file that a document can hold, and its relation to the pages (ISO 19005-3, annex E)."""

    name: str
    media_type: str
    relation: str
    about: str
    largest: int


KINDS: Final = (
    Kind(
        name=REPORT,
        media_type="application/json",
        relation="source",
        about="The report that these pages show",
        largest=64 << 20,
    ),
    Kind(
        name=SEAL_FILE,
        media_type="application/jose",
        relation="supplement",
        about="The station's seal over the report",
        largest=LARGEST_SEAL,
    ),
    Kind(
        name=EVIDENCE,
        media_type="application/gzip",
        relation="data",
        about="Every reading that the report was judged by",
        largest=64 << 20,
    ),
    Kind(
        name="work-order.toml",
        media_type="application/toml",
        relation="supplement",
        about="The work order that it was judged by",
        largest=4 << 20,
    ),
    Kind(
        name="work-order.json",
        media_type="application/json",
        relation="supplement",
        about="The work order that it was judged by",
        largest=4 << 20,
    ),
    Kind(
        name=UNRUN,
        media_type="application/json",
        relation="source",
        about="The record that this page shows",
        largest=1 << 20,
    ),
    Kind(
        name=UNRUN_SEAL,
        media_type="application/jose",
        relation="supplement",
        about="The station's seal over the record",
        largest=LARGEST_SEAL,
    ),
    Kind(
        name=COLOPHON,
        media_type="application/json",
        relation="supplement",
        about="How this document was made",
        largest=1 << 16,
    ),
)
BY_NAME: Final[Mapping[str, Kind]] = {kind.name: kind for kind in KINDS}


def parse_document(raw: bytes) -> Mapping[str, bytes]:
    """The files that a document holds, by name.

    Raises DocumentError for what is no PDF, names a file twice, or holds one larger than any of
    ours can be.
    """
    from closeout.report.pdf_parts import read_pdf  # noqa: PLC0415 - with the library

    if not raw.startswith(b"%PDF-"):
        raise DocumentError("is no PDF")
    try:
        return _files(read_pdf(raw).trailer)
    except DocumentError:
        raise
    except Exception as error:  # whatever the library makes of a broken file
        raise DocumentError(f"is no PDF that can be read ({type(error).__name__})") from error


def _files(trailer: object) -> Mapping[str, bytes]:
    from closeout.report.pdf_parts import part  # noqa: PLC0415 - with the library

    files: dict[str, bytes] = {}
    names = part(part(trailer, "/Root"), "/Names")
    for name, specification in _named(part(names, "/EmbeddedFiles")):
        kind = BY_NAME.get(name)
        if kind is None:
            continue
        if name in files:
            raise DocumentError(f"holds {name} twice")
        files[name] = _content(kind, part(part(specification, "/EF"), "/F"))
    return files


def _named(tree: object) -> Iterator[tuple[str, object]]:
    """The leaves of a tree of names, each with what stands under it."""
    from closeout.report.pdf_parts import items, part  # noqa: PLC0415 - with the library

    waiting, seen = [tree], 0
    while waiting:
        seen += 1
        if seen > MOST_PARTS:
            raise DocumentError(f"has a tree of names of more than {MOST_PARTS} parts")
        branch = waiting.pop(0)
        waiting += items(part(branch, "/Kids"))
        names = items(part(branch, "/Names"))
        if len(names) > 2 * MOST_FILES:
            raise DocumentError(f"holds more than {MOST_FILES} files")
        yield from zip(map(str, names[::2]), names[1::2], strict=False)


def _content(kind: Kind, stream: object) -> bytes:
    """The bytes of a file; of the ways to pack it only the one that we use."""
    from pypdf.generic import StreamObject  # noqa: PLC0415 - as above

    from closeout.report.pdf_parts import part  # noqa: PLC0415 - with the library

    if not isinstance(stream, StreamObject):
        raise DocumentError(f"names {kind.name} and does not hold it")
    if str(part(stream, "/Filter")) not in WAYS or "/DecodeParms" in stream:
        raise DocumentError(f"holds {kind.name} packed in a way that none of ours is")
    content = bytes(stream.get_data())
    if len(content) > kind.largest:
        raise DocumentError(f"holds a {kind.name} of more than {kind.largest} bytes")
    return content
