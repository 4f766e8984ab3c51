"""What stands behind a document that somebody went on writing: a signature alone, or more.

A PDF is changed by what is put behind it (ISO 32000-1, 7.5.6): objects that are new, and objects in
the place of old ones. A signature that is not to be seen gives the catalogue a form, and a page a
field of no size, and who signed writes when in the metadata; where nothing else is otherwise, the
pages and the files in it are those of before. The title is in the metadata too: a reader shows and
speaks it before any page.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from pypdf import PdfReader

from closeout.report.pdf_parts import dictionary, items, part, read_pdf, resolved, written

CATALOGUE: Final = "/Catalog"
PAGE: Final = "/Page"
METADATA: Final = "/Metadata"
ADDED: Final = {
    CATALOGUE: frozenset({"/AcroForm", "/Perms", "/Extensions", "/Version"}),
    PAGE: frozenset({"/Annots"}),
}
"""What a signature may add to an object, by its type."""
NOTHING: Final = frozenset[str]()
FIELD: Final = frozenset({"/F", "/FT", "/P", "/Rect", "/Subtype", "/T", "/TU", "/Type", "/V"})
"""What the field of a signature says; anything else might act when its page is opened."""
SIGNER: Final = frozenset({"/Producer", "/ModDate"})
"""What whoever signed writes of the document in its list of facts."""
FORM: Final = frozenset({"/Fields", "/SigFlags"})
NO_SIZE: Final = (0.0, 0.0, 0.0, 0.0)


def is_only_signed(document: bytes, whole: bytes) -> bool:
    """Whether `whole` is the document and behind it nothing but signatures without a picture."""
    if not whole.startswith(document) or whole == document:
        return False
    try:
        old, new = read_pdf(document), read_pdf(whole)
        replaced = _replaced(old, new, len(document))
        is_signing = all(_is_signing(old, new, number) for number in replaced)
        return is_signing and _has_plain_form(new) and _facts(old) == _facts(new)
    except Exception:  # noqa: BLE001 - whatever the library makes of it: not what we know
        return False


def _replaced(old: PdfReader, new: PdfReader, end: int) -> Iterator[int]:
    """The numbers of old objects that are not where they were, without what says who made it."""
    before = {number for table in old.xref.values() for number in table}
    moved = {
        number for table in new.xref.values() for number, place in table.items() if place >= end
    }
    if new.xref_objStm or _number(old, "/Root") != _number(new, "/Root"):
        raise ValueError("written in a way that a signature is not")
    yield from sorted((before & moved) - {_number(old, "/Info")})


def _facts(reader: PdfReader) -> tuple[object, ...]:
    """Its title in both places, and what else is said of the document."""
    told = dictionary(part(reader.trailer, "/Info"))
    facts = {key: str(resolved(told.raw_get(key))) for key in told if key not in SIGNER}
    metadata = reader.xmp_metadata
    if metadata is None:
        raise ValueError("without metadata it is none of ours")
    return facts, metadata.dc_title, metadata.dc_creator, metadata.pdf_keywords


def _number(reader: PdfReader, name: str) -> int:
    return int(reader.trailer.raw_get(name).idnum)


def _is_signing(old: PdfReader, new: PdfReader, number: int) -> bool:
    """Whether the new object says what the old one said, and that there is a signature."""
    before, behind = dictionary(old.get_object(number)), dictionary(new.get_object(number))
    kind = str(before.get("/Type"))
    if kind == METADATA:
        return True
    keys = {*before, *behind}
    changed = {key for key in keys if written(before, key) != written(behind, key)}
    fields = items(part(behind, "/Annots")) if kind == PAGE else []
    return bool(before) and changed <= ADDED.get(kind, NOTHING) and all(map(_is_unseen, fields))


def _has_plain_form(new: PdfReader) -> bool:
    form = dictionary(part(part(new.trailer, "/Root"), "/AcroForm"))
    fields = items(part(form, "/Fields"))
    return bool(fields) and set(form) <= FORM and all(map(_is_unseen, fields))


def _is_unseen(field: object) -> bool:
    """Whether it is the field of a signature, and takes no room on its page."""
    size = tuple(float(str(each)) for each in items(part(field, "/Rect")))
    is_plain = set(dictionary(field)) <= FIELD
    return is_plain and part(field, "/FT") == "/Sig" and size == NO_SIZE
