"""A machine drawn in memory: a `KernelTree` out of a mapping from path to bytes or errno."""

import errno
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from typing import TypeAlias

from closeout.kernel.failure import ReadError, Reason

Content: TypeAlias = bytes | int
"""What a file holds, or the errno with which the question fails."""

MOST_LINKS = 40


@dataclass(frozen=True, slots=True, kw_only=True)
class DrawnTree:
    """What a test says of the machine, and nothing else.

    `files` maps paths (no leading slash) to bytes or an errno; an errno at the path of a folder
    fails its listing. Folders follow from the paths of files and links; `folders` adds empty
    ones. `links` maps a path to the path from the root that it leads to; questions are followed
    through links. `answers` is for `ask`. Every question is noted in `asked`, in order.
    """

    files: Mapping[str, Content] = field(default_factory=dict)
    links: Mapping[str, str] = field(default_factory=dict)
    folders: tuple[str, ...] = ()
    answers: Mapping[str, Content] = field(default_factory=dict)
    asked: list[str] = field(default_factory=list)

    def read(self, path: str) -> bytes:
        """The bytes drawn at the path; ENOENT where nothing is, EISDIR at a folder."""
        self.asked.append(path)
        real = self._follow(path)
        if real in self.files:
            return _content(path, self.files[real])
        raise ReadError(path, errno.EISDIR if self._is_folder(real) else errno.ENOENT)

    def names(self, folder: str) -> tuple[str, ...]:
        """The sorted names under a folder; ENOENT where none is, ENOTDIR at a file."""
        self.asked.append(folder)
        real = self._follow(folder)
        drawn = self.files.get(real)
        if drawn is not None:
            raise ReadError(folder, drawn if isinstance(drawn, int) else errno.ENOTDIR)
        if not self._is_folder(real):
            raise ReadError(folder, errno.ENOENT)
        prefix = f"{real}/" if real else ""
        below = (path.removeprefix(prefix) for path in self._paths() if path.startswith(prefix))
        return tuple(sorted({path.split("/", 1)[0] for path in below} - {""}))

    def target(self, link: str) -> str:
        """Where a drawn link leads; EINVAL where the path is no link, like readlink(2)."""
        self.asked.append(link)
        folder, slash, name = link.rpartition("/")
        real = f"{self._follow(folder)}{slash}{name}"
        if real in self.links:
            return self._follow(real)
        there = real in self.files or self._is_folder(real)
        raise ReadError(link, errno.EINVAL if there else errno.ENOENT)

    def ask(self, question: str) -> bytes:
        """The answer drawn for the question; NOT_OFFERED where none is."""
        self.asked.append(question)
        if question in self.answers:
            return _content(question, self.answers[question])
        raise ReadError(question, errno.EOPNOTSUPP, Reason.NOT_OFFERED)

    def _paths(self) -> Iterable[str]:
        yield from self.files
        yield from self.links
        yield from self.folders

    def _is_folder(self, path: str) -> bool:
        if path in self.folders:
            return True
        return any(known.startswith(f"{path}/" if path else "") for known in self._paths())

    def _follow(self, path: str) -> str:
        real = ""
        waiting = [part for part in path.split("/") if part]
        for _ in range(MOST_LINKS * (1 + len(waiting))):
            if not waiting:
                return real
            real = f"{real}/{waiting.pop(0)}" if real else waiting.pop(0)
            if real in self.links:
                waiting = [*self.links[real].split("/"), *waiting]
                real = ""
        raise ReadError(path, errno.ELOOP)


def _content(question: str, drawn: Content) -> bytes:
    if isinstance(drawn, int):
        raise ReadError(question, drawn)
    return drawn
