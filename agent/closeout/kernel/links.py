"""Symbolic links of a folder followed inside the folder: none leads out of it."""

from __future__ import annotations

import errno
import os
from typing import Final

from closeout.kernel.failure import ReadError
from closeout.kernel.regular import decode_name, encode_sound, raise_as_read_error

MOST_LINKS: Final = 40
"""The kernel's own limit on links in one path (path_resolution(7))."""

NO_LINK: Final = frozenset({errno.EINVAL, errno.ENOENT, errno.ENOTDIR})
"""What readlink says of a thing that is no link, or of nothing: the question itself will tell."""


class Links:
    """Follows links below a root. An absolute link starts at the root; `..` stops there.

    Folders once followed are remembered, so a folder must not change where it leads in a run.
    """

    def __init__(self, root: bytes) -> None:
        self._root = root
        self._folders = {"": ""}

    def parent(self, path: str) -> str:
        """The path with the links of its folder followed, and not a link at its end."""
        folder, slash, name = path.rpartition("/")
        real = self.folder(folder)
        return f"{real}{slash}{name}" if real else name

    def folder(self, path: str) -> str:
        """The path with every link followed, remembered for the next question."""
        known = self._folders.get(path)
        if known is not None:
            return known
        real = seen = ""
        for part in path.split("/"):
            seen = _join(seen, part)
            if seen not in self._folders:
                self._folders[seen] = self._walk(real, [part], path)
            real = self._folders[seen]
        return real

    def real(self, path: str) -> str:
        """The path with every link followed; what does not exist is kept as it is written.

        Raises:
            ReadError: ELOOP after `MOST_LINKS` links, or the errno of readlink.
        """
        folder, _, name = path.rpartition("/")
        return self._walk(self.folder(folder), [name], path)

    def target(self, link: str) -> str:
        """Where a link leads in one step, as a path from the root without `..`.

        Raises:
            ReadError: EINVAL where there is no link, else the errno of readlink or ELOOP.
        """
        place = self.parent(link)
        leads = self._read_link(place, link)
        folder, _, name = leads.rpartition("/")
        start = "" if leads.startswith("/") else place.rpartition("/")[0]
        if name in {"", ".", ".."}:
            return self._walk(start, leads.split("/"), link)
        return _join(self._walk(start, folder.split("/"), link), name)

    def _walk(self, start: str, parts: list[str], question: str) -> str:
        real = start
        waiting = parts[::-1]
        followed = 0
        while waiting:
            part = waiting.pop()
            if part == "..":
                real = real.rpartition("/")[0]
                continue
            if part in {"", "."}:
                continue
            leads = self._leads(_join(real, part), question)
            if leads is None:
                real = _join(real, part)
                continue
            followed += 1
            if followed > MOST_LINKS:
                raise ReadError(question, errno.ELOOP)
            real = "" if leads.startswith("/") else real
            waiting.extend(leads.split("/")[::-1])
        return real

    def _leads(self, place: str, question: str) -> str | None:
        try:
            return self._read(place)
        except OSError as failure:
            if failure.errno in NO_LINK:
                return None
            raise_as_read_error(question, failure)

    def _read(self, place: str) -> str:
        return decode_name(os.readlink(encode_sound(self._root, place)))  # noqa: PTH115 - Path takes no bytes

    def _read_link(self, place: str, question: str) -> str:
        try:
            return self._read(place)
        except OSError as failure:
            raise_as_read_error(question, failure)


def _join(folder: str, name: str) -> str:
    return f"{folder}/{name}" if folder else name
