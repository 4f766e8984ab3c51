"""What each package is licensed under, out of the file `copyright` that it brings."""

from __future__ import annotations

import re
from pathlib import Path
from typing import Final

from closeout.media.recipe import DOCUMENTS, LICENCE

MACHINE_READABLE: Final = re.compile(r"^Format: \S*copyright-format", re.MULTILINE)
SHORT_NAME: Final = re.compile(r"^License: *(\S.*?)\s*$", re.MULTILINE)
READ_IT: Final = "see copyright"


def licences_of(root: Path, package: str) -> tuple[str, ...]:
    """The short names that a machine-readable file gives (Debian's copyright-format 1.0, 7.2).

    Where the file is written for people only, or is not there, the answer is to read it.
    """
    file = root / DOCUMENTS / package / LICENCE
    try:
        text = file.read_text("utf-8", "replace")
    except OSError:
        return (READ_IT,)
    if not MACHINE_READABLE.search(text[:400]):
        return (READ_IT,)
    return tuple(sorted(set(SHORT_NAME.findall(text)))) or (READ_IT,)
