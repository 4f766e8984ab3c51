"""Where the open data lies that many tests measure against; it is no part of the project."""

import os
from pathlib import Path
from typing import Final

VARIABLE: Final = "CLOSEOUT_TEST_DATA"
BESIDE_CHECKOUT: Final = Path(__file__).parents[2] / "shared" / "data"


def open_data_folder() -> Path:
    """The folder named by CLOSEOUT_TEST_DATA, else `../shared/data` beside the checkout."""
    return Path(os.environ.get(VARIABLE) or BESIDE_CHECKOUT).absolute()


def reason_to_skip() -> str:
    """A sentence for the summary of skipped tests, or nothing where the data is there."""
    folder = open_data_folder()
    if folder.is_dir():
        return ""
    return f"the open data is not at {folder}; set {VARIABLE} to its folder"
