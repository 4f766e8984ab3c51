"""What the TOML parser makes of the shipped files, kept beside them so that no run has to parse.

The standard library's parser walks through every character in Python: the catalogue alone took as
long as a bare interpreter. A tree is found by the SHA-256 of its file, so it can be missing, and
then the file is parsed, but never be that of an older file. `make schemas` writes it.
"""

from __future__ import annotations

import json
from collections.abc import Mapping
from functools import cache
from hashlib import sha256
from typing import Final, cast

from closeout.expect.shipped import ShippedFileError, shipped_folder

PLACE: Final = ("parsed", "shipped.json")
"""Below `profiles`."""


def parsed_before(raw: bytes) -> Mapping[str, object] | None:
    """The tree of a shipped file with these bytes; None for any other file."""
    return _trees().get(sha256(raw).hexdigest())


@cache
def _trees() -> Mapping[str, Mapping[str, object]]:
    try:
        content: object = json.loads(shipped_folder("profiles").joinpath(*PLACE).read_bytes())
    except (OSError, ValueError, ShippedFileError):
        return {}
    return cast("Mapping[str, Mapping[str, object]]", content)
