"""The list of what was put on a stick in place of what is built in: names and digests.

Between its first and its last line it is what `sha256sum -c` reads (GNU coreutils). The first says
how many files there are, the last is the digest of all before it: a list cut short is none.

    # closeout update 1: 2 files
    9f86d081…  closeout/__init__.py
    2c26b46b…  closeout/check.py
    # end sha256:60303ae2…
"""

from __future__ import annotations

import hashlib
import re
from collections.abc import Mapping
from types import MappingProxyType
from typing import Final

from closeout.decode.failure import DecodeError
from closeout.model.frozen import frozen

WHAT: Final = "update list"
FIRST: Final = re.compile(r"# closeout update 1: (\d{1,5}) files")
LINE: Final = re.compile(r"([0-9a-f]{64})  ([A-Za-z0-9_][A-Za-z0-9._-]*(?:/[A-Za-z0-9_][\w.-]*)*)")
LAST: Final = re.compile(rb"# end sha256:([0-9a-f]{64})\n")
LAST_LENGTH: Final = 78
LONGEST: Final = 1 << 20


@frozen
class UpdateList:
    """The digest of each file by its name, in the order of the list."""

    digests: Mapping[str, str]


def make_update_list(files: Mapping[str, bytes]) -> bytes:
    """The list of these files, in the order of their names."""
    lines = [f"# closeout update 1: {len(files)} files\n"]
    lines += [f"{hashlib.sha256(files[name]).hexdigest()}  {name}\n" for name in sorted(files)]
    listed = "".join(lines).encode("ascii")
    return listed + f"# end sha256:{hashlib.sha256(listed).hexdigest()}\n".encode("ascii")


def decode_update_list(raw: bytes) -> UpdateList:
    """The digests, out of a whole list."""
    listed = raw[: max(0, len(raw) - LAST_LENGTH)]
    last = LAST.fullmatch(raw[len(listed) :])
    if len(raw) > LONGEST or last is None:
        raise DecodeError(WHAT, len(listed), "no last line of a list")
    if hashlib.sha256(listed).hexdigest() != last[1].decode("ascii"):
        raise DecodeError(WHAT, len(listed), "another digest than the list has")
    try:
        first, *lines = listed.decode("ascii").splitlines()
    except ValueError as error:
        raise DecodeError(WHAT, 0, "no lines of a list") from error
    counted = FIRST.fullmatch(first)
    found = [LINE.fullmatch(line) for line in lines]
    entries = [(match[2], match[1]) for match in found if match]
    if counted is None or len(entries) != len(lines) or int(counted[1]) != len(entries):
        raise DecodeError(WHAT, 0, "the lines are not those that it counts")
    if len({name.casefold() for name, _ in entries}) != len(entries):
        raise DecodeError(WHAT, 0, "two files of one name")
    return UpdateList(digests=MappingProxyType(dict(entries)))
