"""A bar code of a page as a picture, read back by another's reader."""

import re
from typing import Final

RECT: Final = re.compile(r'<rect x="(\d+)" width="(\d+)" height="1"/>')
WIDTH: Final = re.compile(r'viewBox="0 0 (\d+) 1"')
SVG: Final = re.compile(r'<svg class="bars".*?</svg>', re.DOTALL)
SCALE: Final = 3
"""Pixels a module."""
HEIGHT: Final = 60


def read_bars(markup: str) -> list[str]:
    """The text of every bar code in a page, in its order."""
    return [_read(svg) for svg in SVG.findall(markup)]


def _read(svg: str) -> str:
    import numpy as np  # noqa: PLC0415 - the tests that read are left out where there is none
    import zxingcpp  # noqa: PLC0415 - as above

    found = WIDTH.search(svg)
    assert found is not None
    row = np.full(int(found[1]) * SCALE, 255, dtype=np.uint8)
    for place, width in RECT.findall(svg):
        row[int(place) * SCALE : (int(place) + int(width)) * SCALE] = 0
    picture = np.tile(row, (HEIGHT, 1))
    (code,) = zxingcpp.read_barcodes(picture)
    assert str(code.format).replace(" ", "").endswith("Code128")
    return str(code.text)
