"""The document of a report that was just kept, made on the unit, as bytes for the stick.

`closeout report pdf` makes it, in a child: 200 MB and a library in native code are asked of a unit
that was just repaired, and whatever becomes of that, the session goes on and the report is kept.
"""

from __future__ import annotations

import os
import subprocess
import sys
from collections.abc import Callable
from importlib.util import find_spec
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Final, TypeAlias

from closeout.kernel.live import LiveTree
from closeout.media.stick.door import Door
from closeout.media.stick.find import Volume
from closeout.media.stick.paper import NoPaper, take_paper

SECONDS: Final = 300
"""A processor of today needs 3; one that needs a hundred times as many has a fault."""
MAKERS: Final = ("segno", "typst")
FILE: Final = "document.pdf"

FindMakers: TypeAlias = Callable[[Volume, Door], tuple[Path, ...] | NoPaper]
SetDocument: TypeAlias = Callable[[Path, tuple[Path, ...]], bytes | NoPaper]


def find_makers(stick: Volume, door: Door) -> tuple[Path, ...] | NoPaper:
    """The folders that a child imports the libraries from: none where they are installed here."""
    if all(map(find_spec, MAKERS)):
        return ()
    found = take_paper(stick, door, LiveTree())
    return found if isinstance(found, NoPaper) else (found,)


def set_document(folder: Path, imports: tuple[Path, ...]) -> bytes | NoPaper:
    """The document of an attempt's folder, as a child made it."""
    known = [*map(str, imports), *filter(None, [os.environ.get("PYTHONPATH")])]
    surroundings = {**os.environ, **({"PYTHONPATH": os.pathsep.join(known)} if known else {})}
    try:
        with TemporaryDirectory(prefix="closeout-") as place:
            file = Path(place) / FILE
            told = ("-m", "closeout", "report", "pdf", str(folder), "--out", str(file))
            done = subprocess.run(
                (sys.executable, *told),
                env=surroundings,
                stdin=subprocess.DEVNULL,
                capture_output=True,
                timeout=SECONDS,
                check=False,
            )
            return NoPaper(why=_complaint(done)) if done.returncode else file.read_bytes()
    except subprocess.TimeoutExpired:
        return NoPaper(why=f"it was not set within {SECONDS} s")
    except OSError as failure:
        return NoPaper(why=f"it cannot be set here: {failure.strerror}")


def _complaint(done: subprocess.CompletedProcess[bytes]) -> str:
    """The child's last word; or how it ended, where it had none."""
    if done.returncode < 0:
        return f"setting it ended with signal {-done.returncode}"
    said = done.stderr.decode("utf-8", "replace").strip().splitlines()
    return said[-1].removeprefix("closeout: ") if said else f"code {done.returncode}"
