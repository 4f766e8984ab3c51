"""The stick on other screens than a plain one: a panel that stands upright, a second screen.

Text of a screen is pixels, so it is judged by the lines of the serial console, which are as wide as
the narrowest console, and by whether the pixels of the screens are lit; pictures are kept beside
the test's other files, to be looked at.
"""

import re
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Final, NamedTuple

import pytest

from media.emulated_stick import Unit, started, with_options
from media.real_stick import Stick, built_stick
from media.stick_boot import PROMPTS
from notebook.orders import Orders

pytestmark = [pytest.mark.notebook, pytest.mark.thorough, pytest.mark.xdist_group("screens")]

LETTER: Final = (16, 32)
"""Columns and lines of pixels of the stick's letters."""
FIRST: Final = "will not be opened for writing"
UPRIGHT: Final = (800, 1280)
SMALL, LARGE = (1024, 768), (1280, 1024)


class Picture(NamedTuple):
    """What a screen shows: a portable pixmap (netpbm, PPM "raw", 8 bits)."""

    width: int
    height: int
    pixels: bytes

    def rows(self, width: int, height: int) -> Iterator[bytes]:
        """Of the upper left corner."""
        for row in range(height):
            start = row * self.width * 3
            yield self.pixels[start : start + width * 3]


@pytest.fixture(scope="module")
def stick() -> Stick:
    return built_stick()


@contextmanager
def watched(
    image: Path, folder: Path, screen: tuple[str, ...], firmware: str
) -> Iterator[tuple[Unit, Orders]]:
    place = folder / "orders.sock"
    more = ("-qmp", f"unix:{place},server=on,wait=off")
    with (
        started(image, folder, firmware=firmware, screen=screen, more=more) as unit,
        Orders(place) as orders,
    ):
        yield unit, orders


def picture(orders: Orders, file: Path, device: str, head: int = 0) -> Picture:
    """The screen's picture; also kept as PNG."""
    for kind in ("png", "ppm"):
        given = {"filename": f"{file}.{kind}", "format": kind}
        orders.give("screendump", device=device, head=head, **given)
    mark, size, depth, pixels = Path(f"{file}.ppm").read_bytes().split(b"\n", 3)
    assert (mark, depth) == (b"P6", b"255")
    width, height = map(int, size.split())
    return Picture(width, height, pixels)


@pytest.mark.parametrize("firmware", ["secure-boot", "bios"])
def test_a_panel_that_stands_upright(stick: Stick, tmp_path: Path, firmware: str) -> None:
    """No line is wider than it, and nothing is cut: what does not fit is wrapped."""
    width, height = UPRIGHT
    screen = ("-vga", "none", "-device", f"VGA,id=panel,edid=on,xres={width},yres={height}")
    columns = width // LETTER[0]
    with watched(stick.image, tmp_path, screen, firmware) as (unit, orders):
        unit.wait_for("ready: ")
        begun = len(unit.said)
        for prompt in PROMPTS:
            unit.wait_for(prompt)
            unit.type("\r")
        unit.wait_for("RELEASE", "HOLD", "UNDECIDED")
        unit.wait_for("(Enter = no questions)", "What now?")
        seen = picture(orders, tmp_path / "upright", "panel")
    assert seen[:2] == UPRIGHT
    assert any(seen.pixels)
    # what comes after a return alone is written over what stands there
    lines = re.split(r"[\r\n]+", re.sub(r"\x1b\[[0-9;?]*[A-Za-z]", "", unit.said[begun:]))
    assert max(map(len, lines)) <= columns
    assert max(map(len, lines)) > columns * 3 // 4, "the whole width is used"


def test_a_second_screen_shows_the_same(stick: Stick, tmp_path: Path) -> None:
    """As where the panel of the unit is dark. Nothing lies outside of the smaller one."""
    sizes = (f"video=Virtual-{n}:{w}x{h}e" for n, (w, h) in enumerate((LARGE, SMALL), start=1))
    copy = with_options(stick.image, tmp_path / "two.img", stick.boot_offset, " ".join(sizes))
    screen = ("-vga", "none", "-device", "virtio-vga,id=card,max_outputs=2")
    with watched(copy, tmp_path, screen, "bios") as (unit, orders):
        unit.wait_for("ready: ")
        begun = len(unit.said)
        unit.wait_for(PROMPTS[0])
        both = [picture(orders, tmp_path / f"screen-{n}", "card", n) for n in (0, 1)]
    large, small = both
    width, height = SMALL
    assert (large[:2], small[:2]) == (LARGE, SMALL)
    assert any(any(row) for row in small.rows(width, height))
    below = large.height - height
    assert not any(large.pixels[-below * large.width * 3 :])
    differing = sum(
        one != other
        for one, other in zip(large.rows(width, height), small.rows(width, height), strict=True)
    )
    assert differing <= LETTER[1], "but for the cursor, which blinks"
    assert max(map(len, unit.said[begun:].replace("\r", "").split("\n"))) <= width // LETTER[0]
