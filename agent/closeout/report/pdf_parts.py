"""Parts of a PDF, asked for as if they were there: another kind in their place is nothing.

pypdf reads the objects (ISO 32000-1, 7.3); what a stranger put in a place may be of any kind.
"""

from __future__ import annotations

import logging
from io import BytesIO

from pypdf import PdfReader
from pypdf.generic import ArrayObject, DictionaryObject, PdfObject

logging.getLogger("pypdf").setLevel(logging.CRITICAL)
"""It tells of every oddity, and nobody is to hear."""


def read_pdf(raw: bytes) -> PdfReader:
    """The objects of a PDF; what is broken is not mended. Raises whatever the library does."""
    return PdfReader(BytesIO(raw), strict=True)


def resolved(found: object) -> object:
    """The object itself where it is only pointed at."""
    return found.get_object() if isinstance(found, PdfObject) else found


def dictionary(found: object) -> DictionaryObject:
    """The dictionary that it is, or an empty one."""
    whole = resolved(found)
    return whole if isinstance(whole, DictionaryObject) else DictionaryObject()


def part(of: object, name: str) -> object:
    """What a dictionary holds under a name; None where it is none or holds nothing there."""
    whole = dictionary(of)
    return resolved(whole.raw_get(name)) if name in whole else None


def items(found: object) -> list[object]:
    """What is in an array; nothing where it is none."""
    whole = resolved(found)
    return list(whole) if isinstance(whole, ArrayObject) else []


def written(of: DictionaryObject, name: str) -> bytes:
    """What stands under a name as it is written in a file; nothing where it is not there."""
    stream = BytesIO()
    if name in of:
        of.raw_get(name).write_to_stream(stream)
    return stream.getvalue()
