"""What stands behind a document that somebody went on writing: a signature alone, or more.

A PDF is changed by what is put behind it (ISO 32000-1, 7.5.6): objects that are new, and objects in
the place of old ones. A signature that is not to be seen gives the catalogue a form, and a page a
field of no size, and who signed writes when in the metadata; where nothing else is otherwise, the
pages and the files in it are those of before.
"""

from __future__ import annotations

from collections.abc import Iterator
from io import BytesIO
from typing import Final

from pypdf import PdfReader
from pypdf.generic import ArrayObject, DictionaryObject, PdfObject

CATALOGUE: Final = "/Catalog"
PAGE: Final = "/Page"
METADATA: Final = "/Metadata"
ADDED: Final = {
    CATALOGUE: frozenset({"/AcroForm", "/Perms", "/Extensions", "/Version"}),
    PAGE: frozenset({"/Annots"}),
}
"""What a signature may add to an object, by its type."""
FORM: Final = frozenset({"/Fields", "/SigFlags"})
NO_SIZE: Final = (0.0, 0.0, 0.0, 0.0)


def is_only_signed(document: bytes, whole: bytes) -> bool:
    """Whether `whole` is the document and behind it nothing but signatures without a picture."""
    if not whole.startswith(document):
        return False
    try:
        old = PdfReader(BytesIO(document), strict=True)
        new = PdfReader(BytesIO(whole), strict=True)
        replaced = _replaced(old, new, len(document))
        return all(_is_signing(old, new, number) for number in replaced) and _has_plain_form(new)
    except Exception:  # noqa: BLE001 - whatever the library makes of it: not what we know
        return False


def _replaced(old: PdfReader, new: PdfReader, end: int) -> Iterator[int]:
    """The numbers of old objects that are not where they were, that of the catalogue always."""
    before = {number for table in old.xref.values() for number in table}
    moved = {
        number for table in new.xref.values() for number, place in table.items() if place >= end
    }
    if new.xref_objStm or _number(old, "/Root") != _number(new, "/Root"):
        raise ValueError("written in a way that a signature is not")
    yield from sorted(before & moved - {_number(old, "/Info")})


def _number(reader: PdfReader, name: str) -> int:
    return int(reader.trailer.raw_get(name).idnum)


def _is_signing(old: PdfReader, new: PdfReader, number: int) -> bool:
    """Whether the new object says what the old one said, and that there is a signature."""
    before, behind = _at(old, number), _at(new, number)
    if not isinstance(before, DictionaryObject) or not isinstance(behind, DictionaryObject):
        return False
    kind = str(before.get("/Type"))
    if kind == METADATA:
        return True
    keys = {*before, *behind}
    changed = {key for key in keys if _told(before, key) != _told(behind, key)}
    fields = _items(behind.get("/Annots")) if kind == PAGE else ()
    return changed <= ADDED.get(kind, frozenset()) and all(map(_is_unseen, fields))


def _has_plain_form(new: PdfReader) -> bool:
    root = new.trailer["/Root"].get_object()
    form = root.get("/AcroForm") if isinstance(root, DictionaryObject) else None
    whole = form.get_object() if form is not None else None
    if not isinstance(whole, DictionaryObject) or not set(whole) <= FORM:
        return False
    return all(map(_is_unseen, _items(whole.get("/Fields"))))


def _is_unseen(field: object) -> bool:
    """Whether it is the field of a signature, and takes no room on its page."""
    whole = field.get_object() if isinstance(field, PdfObject) else None
    if not isinstance(whole, DictionaryObject) or whole.get("/FT") != "/Sig":
        return False
    return tuple(map(float, _items(whole.get("/Rect")))) == NO_SIZE


def _at(reader: PdfReader, number: int) -> object:
    return reader.get_object(number)


def _items(found: object) -> list[object]:
    whole = found.get_object() if isinstance(found, PdfObject) else None
    return list(whole) if isinstance(whole, ArrayObject) else []


def _told(record: DictionaryObject, key: str) -> bytes:
    """What stands under a key as it is written; nothing where it is not there."""
    written = BytesIO()
    if key in record:
        record.raw_get(key).write_to_stream(written)
    return written.getvalue()
