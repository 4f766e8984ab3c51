"""The seeds: a few that every target gets, and what fuzzing found worth keeping."""

from collections.abc import Iterator
from pathlib import Path
from typing import Final

CORPUS: Final = Path(__file__).with_name("corpus")
EVERYBODYS: Final = (
    b"",
    b"\0",
    b"\xff" * 64,
    b"0",
    b"1.2.3\0" + b"1.10",
    b"a" * 300,
    b"{" * 2000,
    b"[" * 2000,
    b"\x1f\x8b\x08\x00\x00\x00\x00\x00\x00\x03",
    bytes(range(256)),
    "\u202e\U0001f600\x85\n".encode(),
)


def seeds_of(name: str) -> Iterator[bytes]:
    """The seeds of a target, its own last."""
    yield from EVERYBODYS
    folder = CORPUS / name
    for path in sorted(folder.iterdir()) if folder.is_dir() else ():
        yield path.read_bytes()
