"""PDF files written object by object, for what reads a stranger's."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Stream:
    """A stream with what its dictionary says beside the length."""

    content: bytes
    entries: str = ""


def write_pdf(catalogue: str, *objects: Stream | str) -> bytes:
    """A file with a table of its objects (ISO 32000-1, 7.5); the catalogue is the first of them."""
    written = bytearray(b"%PDF-1.7\n%\x80\x80\x80\x80\n")
    places = []
    for number, each in enumerate((catalogue, *objects), start=1):
        places.append(len(written))
        written += f"{number} 0 obj\n".encode() + _body(each) + b"\nendobj\n"
    start = len(written)
    written += f"xref\n0 {len(places) + 1}\n0000000000 65535 f \n".encode()
    written += b"".join(f"{place:010d} 00000 n \n".encode() for place in places)
    written += f"trailer\n<</Size {len(places) + 1}/Root 1 0 R>>\n".encode()
    return bytes(written + f"startxref\n{start}\n%%EOF\n".encode())


def _body(each: Stream | str) -> bytes:
    if isinstance(each, str):
        return each.encode()
    head = f"<</Length {len(each.content)}{each.entries}>>\nstream\n".encode()
    return head + each.content + b"\nendstream"
