"""The seeds: a few that every target gets, and what fuzzing found worth keeping.

A target's own are in `corpus/NAME`, a line of base64 each, shortest first.
"""

from base64 import b64decode, b64encode
from collections.abc import Iterable, Iterator
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
    file = CORPUS / name
    yield from map(b64decode, file.read_bytes().splitlines() if file.exists() else ())


def keep_seeds(name: str, seeds: Iterable[bytes]) -> int:
    """Writes a target's own seeds; gives how many."""
    own = sorted(set(seeds) - set(EVERYBODYS), key=lambda seed: (len(seed), seed))
    (CORPUS / name).write_bytes(b"".join(b64encode(seed) + b"\n" for seed in own))
    return len(own)
