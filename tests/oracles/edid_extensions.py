"""Extension blocks of an EDID as edid-decode lists them: values out of its text."""

import re
from dataclasses import dataclass
from itertools import pairwise

from oracles.edid_decode import HORIZONTAL, NUMBER, VERTICAL

BLOCKS = re.compile(r"\n-{16}\n")
NAME = re.compile(r"^Block \d+, (.*):$", re.MULTILINE)
TIMING = re.compile(
    rf"DTD *\d*: +(?P<width>\d+)x(?P<height>\d+)(?P<interlaced>i?) +{NUMBER} Hz"
    rf" .* {NUMBER} MHz(?: \((?P<notes>.*)\))?"
)
DATA_BLOCK = re.compile(
    r"^  (?P<name>[A-Z].*?)(?: DisplayID)? Data Block"
    r"(?: \((?:0x\w\w|tag 0x(?P<tag>\w\w), length \d+)\))?(?: \([\w +]+\))?(?:, OUI.*)?:$"
    r"|^  (?P<filler>Filler):$"
    r"|^  Unknown CTA-861 Data Block \(extended tag 0x(?P<extended>\w\w), length \d+\):$",
    re.MULTILINE,
)
VIDEO_BLOCK = re.compile(r"^  Video Data Block:\n((?:    .*\n)*)", re.MULTILINE)
VENDOR = re.compile(r" \(.*\)$")
VIDEO_CODE = re.compile(r"^    (?:VIC +(\d+):|Unknown \(VIC (\d+)\))", re.MULTILINE)

Timing = tuple[
    tuple[int, int, bool], float, float, tuple[int, int, int], tuple[int, int, int], bool
]
"""Mode, hertz, megahertz, front, sync and back of each direction, and whether it is preferred."""


@dataclass(frozen=True, slots=True, kw_only=True)
class ListedExtension:
    """One extension; `words` are its lines."""

    name: str
    words: str

    def value(self, label: str) -> str | None:
        """What stands behind a label, None where the label does not appear."""
        found = re.search(rf"^ *{re.escape(label)}: *(.*)$", self.words, re.MULTILINE)
        return found[1] if found else None

    def numbers(self, label: str) -> list[int]:
        """The number behind the label, wherever it stands."""
        found = re.findall(rf"^ *{label}: (\d+)(?:, Week \d+)?$", self.words, re.MULTILINE)
        return [int(number) for number in found]

    def texts(self, label: str) -> list[str]:
        """The text behind the label, wherever it stands."""
        found = re.findall(rf"^ *{label}: (.*)$", self.words, re.MULTILINE)
        return [text.strip() for text in found]

    def pairs(self, label: str, unit: str) -> list[tuple[float, float]]:
        """Two numbers with an x between them."""
        pattern = rf"^ *{label}: ([\d.]+){unit} ?x ?([\d.]+){unit}$"
        return [(float(a), float(b)) for a, b in re.findall(pattern, self.words, re.MULTILINE)]

    def section_sum_good(self) -> bool | None:
        """Whether the sum inside the block is right; None where none is listed."""
        found = re.search(r"^  Checksum: 0x\w\w( \(should)?", self.words, re.MULTILINE)
        return None if found is None else not found[1]

    def data_blocks(self) -> list[str]:
        """Names of data blocks, those inside others too; an unknown one is its tag."""
        return [_name(found) for found in DATA_BLOCK.finditer(self.words)]

    def video_codes(self) -> list[int]:
        """Codes of the video data blocks, not of those for YCbCr 4:2:0 alone."""
        parts = VIDEO_BLOCK.findall(self.words)
        codes = (found for part in parts for found in VIDEO_CODE.findall(part))
        return [int(plain or unknown) for plain, unknown in codes]

    def timings(self) -> list[Timing]:
        """All detailed timings."""
        starts = [found.start() for found in TIMING.finditer(self.words)]
        return [_timing(self.words[a:b]) for a, b in pairwise([*starts, len(self.words)])]


def read_extensions(listing: str) -> list[ListedExtension]:
    """Every block of a listing but the first."""
    found = []
    for part in BLOCKS.split(listing)[1:]:
        name = NAME.search(part)
        assert name, part
        found.append(ListedExtension(name=name[1], words=part))
    return found


def _name(found: re.Match[str]) -> str:
    if found["filler"]:
        return "Filler"
    if found["extended"]:
        return f"unknown {0x700 | int(found['extended'], 16):#x}"
    if found["tag"] and found["name"].startswith("Unknown"):
        return f"unknown {int(found['tag'], 16):#x}"
    return VENDOR.sub("", found["name"])


def _timing(text: str) -> Timing:
    line, across, down = TIMING.match(text), HORIZONTAL.search(text), VERTICAL.search(text)
    assert line, text
    assert across, text
    assert down, text
    mode = (int(line["width"]), int(line["height"]), bool(line["interlaced"]))
    return (
        *(mode, float(line[4]), float(line[5])),
        (int(across[1]), int(across[2]), int(across[3])),
        (int(down[1]), int(down[2]), int(down[3])),
        "preferred" in (line["notes"] or ""),
    )
