"""EDIDs as edid-decode lists them: values out of its text, never the text itself."""

import re
import shutil
import subprocess
from collections.abc import Iterable
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from itertools import pairwise

AT_ONCE = 2
NUMBER = r"(-?\d+(?:\.\d+)?)"
DETAILED = re.compile(
    rf"DTD +(?P<number>\d+): +(?P<width>\d+)x(?P<height>\d+)(?P<interlaced>i?) +{NUMBER} Hz"
    rf" .* {NUMBER} MHz(?: \((?P<notes>.*)\))?"
)
SIZE = re.compile(r"(\d+) mm x (\d+) mm")
HORIZONTAL = re.compile(r"Hfront +(-?\d+) Hsync +(-?\d+) Hback +(-?\d+)")
VERTICAL = re.compile(r"Vfront +(-?\d+) Vsync +(-?\d+) Vback +(-?\d+)")
MODE = re.compile(
    r"^    (?:DMT \w+|IBM|Apple|GTF|CVT|Unknown) *: +(\d+)x(\d+)i? +([\d.]+) Hz", re.MULTILINE
)
LIMITS = re.compile(r": (\d+)-(\d+) Hz V, (\d+)-(\d+) kHz H(?:, max dotclock (\d+) MHz)?")
BLOCK = re.compile(r"^Block \d+, (?P<name>.*):$", re.MULTILINE)
CHECKSUM = re.compile(r"^Checksum: 0x(?P<sum>\w\w)(?P<wrong> \(should be 0x\w\w\))?", re.MULTILINE)
MADE = re.compile(r"Made in: (?:week (?P<week>\d+) of )?(?P<year>\d+)|Model year: (?P<model>\d+)")


@dataclass(frozen=True, slots=True, kw_only=True)
class ListedTiming:
    """A detailed timing; front, sync and back of each direction."""

    width: int
    height: int
    interlaced: bool
    hertz: float
    megahertz: float
    millimetres: tuple[int, int] | None
    horizontal: tuple[int, int, int]
    vertical: tuple[int, int, int]


@dataclass(frozen=True, slots=True, kw_only=True)
class ListedEdid:
    """The first block, and name and sum of every block; `words` are its lines."""

    words: str
    timings: tuple[ListedTiming, ...]
    established: tuple[tuple[int, int, int], ...]
    standard: tuple[tuple[int, int, int], ...]
    limits: tuple[tuple[int, ...], ...]
    block_names: tuple[str, ...]
    checksums: tuple[tuple[int, bool], ...]

    def value(self, label: str) -> str | None:
        """What stands behind a label, None where the label does not appear."""
        found = re.search(rf"^ *{re.escape(label)}: *(.*)$", self.words, re.MULTILINE)
        return found[1] if found else None

    def quoted(self, label: str) -> list[str]:
        """The quoted text of each line with this label."""
        return re.findall(rf"^ *{re.escape(label)}: '(.*)'$", self.words, re.MULTILINE)

    def made(self) -> tuple[int, int | None, bool]:
        """Year, week, and whether the year is the model's."""
        found = MADE.search(self.words)
        assert found, self.words
        if found["model"]:
            return int(found["model"]), None, True
        return int(found["year"]), int(found["week"]) if found["week"] else None, False


def reason_to_skip() -> str:
    return "" if shutil.which("edid-decode") else "edid-decode is not installed"


def list_edid(raw: bytes) -> ListedEdid:
    """What edid-decode prints of one EDID, as values."""
    return read_listing(list_words(raw))


def list_words(raw: bytes) -> str:
    """What edid-decode prints of one EDID; its exit status only speaks of conformity."""
    ran = subprocess.run(
        ["edid-decode", "--skip-hex-dump", "-"], input=raw, capture_output=True, check=False
    )
    return ran.stdout.decode("latin-1")


def list_edids(many: Iterable[bytes]) -> list[ListedEdid]:
    """As `list_edid`, a few at once."""
    with ThreadPoolExecutor(AT_ONCE) as pool:
        return list(pool.map(list_edid, many))


def read_listing(text: str) -> ListedEdid:
    """The values of a listing."""
    first = text.split("----------------", maxsplit=1)[0]
    early, _, late = first.partition("Standard Timings:")
    return ListedEdid(
        words=first,
        timings=_timings(first),
        established=_modes(early),
        standard=_modes(late.partition("Detailed Timing Descriptors:")[0]),
        limits=tuple(tuple(int(part or 0) for part in found) for found in LIMITS.findall(first)),
        block_names=tuple(found["name"] for found in BLOCK.finditer(text)),
        checksums=tuple(
            (int(found["sum"], 16), found["wrong"] is None) for found in CHECKSUM.finditer(text)
        ),
    )


def _modes(text: str) -> tuple[tuple[int, int, int], ...]:
    return tuple((int(wide), int(high), round(float(hz))) for wide, high, hz in MODE.findall(text))


def _timings(text: str) -> tuple[ListedTiming, ...]:
    starts = [found.start() for found in DETAILED.finditer(text)]
    pieces = [text[start:end] for start, end in pairwise([*starts, len(text)])]
    return tuple(_timing(piece) for piece in pieces)


def _timing(text: str) -> ListedTiming:
    line = DETAILED.match(text)
    across = HORIZONTAL.search(text)
    down = VERTICAL.search(text)
    assert line, text
    assert across, text
    assert down, text
    size = SIZE.search(line["notes"] or "")
    return ListedTiming(
        width=int(line["width"]),
        height=int(line["height"]),
        interlaced=bool(line["interlaced"]),
        hertz=float(line[5]),
        megahertz=float(line[6]),
        millimetres=(int(size[1]), int(size[2])) if size else None,
        horizontal=_three(across),
        vertical=_three(down),
    )


def _three(found: re.Match[str]) -> tuple[int, int, int]:
    return int(found[1]), int(found[2]), int(found[3])
