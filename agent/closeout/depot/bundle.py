"""What arrives: a report with the files beside it, or the reason why there is none."""

from __future__ import annotations

from collections.abc import Mapping
from hashlib import sha256
from typing import Final

from closeout.model.frozen import frozen

REPORT: Final = "report.json"
UNRUN: Final = "unrun.json"
SEAL: Final = "report.jws"
SEALS: Final[Mapping[str, str]] = {REPORT: SEAL, UNRUN: "unrun.jws"}
"""Beside which file which seal lies."""
EVIDENCE: Final = "evidence.jsonl.gz"
DOCUMENT: Final = ".pdf"
"""How a document for paper ends, which holds the files of its report."""
MAINS: Final = (REPORT, UNRUN)
BESIDE: Final[Mapping[str, tuple[str, ...]]] = {REPORT: (SEAL, EVIDENCE), UNRUN: (SEALS[UNRUN],)}
"""What is kept with a report. Its page is not: it is made of the report, and can be again."""
KEPT_NAMES: Final = frozenset({*MAINS, *SEALS.values(), EVIDENCE})
LARGEST: Final = 64 << 20
"""Bytes of one file: what evidence may have; a report has less than one MiB."""
LONGEST_PLACE: Final = 400


@frozen
class Bundle:
    """One report: where it lay, which of the files is the report itself, and all of them."""

    place: str
    main: str
    files: Mapping[str, bytes]
    digests: Mapping[str, str]

    @property
    def digest(self) -> str:
        """What the report is known by."""
        return self.digests[self.main]


@frozen
class Spoiled:
    """What lay at a place and is not taken; without a digest it could not even be read."""

    place: str
    reason: str
    digest: str = ""


def bundles_of(place: str, files: Mapping[str, bytes]) -> tuple[Bundle, ...]:
    """The reports among the files of one folder, each with what belongs to it."""
    return tuple(
        make_bundle(
            place,
            main,
            files[main],
            {name: files[name] for name in BESIDE[main] if name in files},
        )
        for main in MAINS
        if main in files
    )


def make_bundle(place: str, main: str, content: bytes, beside: Mapping[str, bytes]) -> Bundle:
    """A report and what lies beside it, each with its digest."""
    files = {main: content, **beside}
    digests = {name: sha256(raw).hexdigest() for name, raw in files.items()}
    return Bundle(place=place, main=main, files=files, digests=digests)
