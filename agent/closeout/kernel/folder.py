"""The machine as a folder that holds its `sys/ proc/ dev/ run/udev/` files.

A question that no file answers may have its answer under `ask/`, in a file named by
`answer_name`: `ask("psutil sensors_battery")` reads `ask/psutil%20sensors_battery`.
"""

from __future__ import annotations

import errno
import os
import stat
from typing import Final

from closeout.kernel.bus_names import BusNames
from closeout.kernel.failure import ReadError, Reason
from closeout.kernel.limits import byte_limit
from closeout.kernel.links import Links
from closeout.kernel.privacy import forbid_core_dumps
from closeout.kernel.regular import (
    encode_path,
    encode_sound,
    list_names,
    raise_as_read_error,
    read_looked_at,
)
from closeout.kernel.secrecy import is_licence_path
from closeout.model.late_pattern import late_pattern

ANSWERS: Final = "ask"
NOT_PLAIN: Final = late_pattern(rb"[^A-Za-z0-9_-]")
NOT_THERE: Final = frozenset({errno.ENOENT, errno.ENOTDIR, errno.EISDIR, errno.ENAMETOOLONG})


def answer_name(question: str) -> str:
    """The name of the file under `ask/` that answers a question.

    Every byte of its UTF-8 that is no ASCII letter, digit, `_` or `-` becomes `%` and two
    capital hex digits.
    """
    encoded = question.encode("utf-8", "surrogatepass")
    return NOT_PLAIN.sub(lambda found: b"%%%02X" % found[0][0], encoded).decode("ascii")


class FolderTree:
    """Answers out of a folder; links are followed inside it and never lead out of it.

    Reads are inline: nothing here waits for a device.
    """

    def __init__(self, root: str | os.PathLike[str]) -> None:
        self._root = os.path.abspath(os.fsencode(root)).rstrip(b"/")  # noqa: PTH100 - Path takes no bytes
        self._links = Links(self._root)
        self._bus_names = BusNames(self.read)

    def read(self, path: str) -> bytes:
        """The whole content of a file.

        Raises:
            ReadError: as `read_regular`, and ELOOP for links without end.
        """
        if is_licence_path(path):
            forbid_core_dumps()
        place = encode_sound(self._root, self._links.parent(_valid(path)))
        mode = _look_at(place, path)
        if stat.S_ISLNK(mode):
            place = encode_path(self._root, self._links.real(path))
            mode = _look_at(place, path)
        # What was looked at may have been replaced by a link before it is opened.
        return read_looked_at(place, path, byte_limit(path), mode, os.O_NOFOLLOW)

    def names(self, folder: str) -> tuple[str, ...]:
        """The sorted names in a folder; a root that holds nothing is no machine: ENOENT."""
        names = list_names(encode_path(self._root, self._links.folder(_valid(folder))), folder)
        if not folder and not names:
            raise ReadError(folder, errno.ENOENT)
        return names

    def target(self, link: str) -> str:
        """Where a symbolic link leads in one step, relative to the root."""
        return self._links.target(_valid(link))

    def ask(self, question: str) -> bytes:
        """The content of the question's file under `ask/`, or a name from the ids files.

        Raises:
            ReadError: NOT_OFFERED where nothing answers.
        """
        try:
            return self.read(f"{ANSWERS}/{answer_name(question)}")
        except ReadError as failure:
            if failure.reason is Reason.KERNEL and failure.number in NOT_THERE:
                return self._bus_names.answer(question)
            raise ReadError(question, failure.number, failure.reason) from None


def _look_at(place: bytes, path: str) -> int:
    try:
        return os.lstat(place).st_mode
    except OSError as failure:
        raise_as_read_error(path, failure)


def _valid(path: str) -> str:
    encode_path(b"", path)
    return path
