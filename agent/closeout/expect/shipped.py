"""Where the files that ship with the program are: in the wheel, or at the checkout's top."""

from __future__ import annotations

from pathlib import Path
from typing import Final

PACKAGE: Final = Path(__file__).resolve().parent.parent
CHECKOUT: Final = PACKAGE.parent.parent


class ShippedFileError(Exception):
    """A file of the program itself is missing or spoiled: `what` is wrong with it."""

    def __init__(self, what: str) -> None:
        super().__init__(f"the installation is not whole: {what}")
        self.what = what


def shipped_folder(name: str) -> Path:
    """The folder `profiles` or `reports`, inside the package or at the top of the checkout.

    A wheel carries it under `closeout/shipped/`; an editable install runs from the checkout,
    whose top holds it. Raises `ShippedFileError` where neither is there.
    """
    return find_shipped(name, PACKAGE / "shipped", CHECKOUT)


def find_shipped(name: str, packaged: Path, checkout: Path) -> Path:
    """The folder `name` under `packaged`, else under a `checkout` that holds this program."""
    inside = packaged / name
    if inside.is_dir():
        return inside
    beside = checkout / name
    if (checkout / "pyproject.toml").is_file() and beside.is_dir():
        return beside
    raise ShippedFileError(f"no folder {name!r} in {packaged} nor in {checkout}")
