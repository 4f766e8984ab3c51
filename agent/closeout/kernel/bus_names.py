"""Names of PCI and USB devices, looked up in the ids files of the tree.

The question and its answer are those of `closeout.decode.ids_file`: the files have 1.5 MB and
go no further; only the two names asked for do.
"""

from __future__ import annotations

import errno
from collections.abc import Callable, Mapping
from typing import Final

from closeout.decode.ids_file import encode_names, match_ids, parse_names_question
from closeout.kernel.failure import ReadError, Reason

IDS_FILES: Final[Mapping[str, tuple[str, ...]]] = {
    "pci": ("usr/share/misc/pci.ids", "usr/share/hwdata/pci.ids"),
    "usb": (
        "usr/share/misc/usb.ids",
        "usr/share/hwdata/usb.ids",
        "var/lib/usbutils/usb.ids",
    ),
}
"""Where distributions keep the files; the first that is there counts."""

NOT_THERE: Final = frozenset({errno.ENOENT, errno.ENOTDIR, errno.ELOOP})


class BusNames:
    """Answers questions for names out of files read by `read`, each file once."""

    def __init__(self, read: Callable[[str], bytes]) -> None:
        self._read = read
        self._contents: dict[str, bytes] = {}

    def answer(self, question: str) -> bytes:
        """The names as JSON.

        Raises:
            ReadError: NOT_OFFERED for any other question and where there is no ids file; else
                why the file could not be read.
        """
        wanted = parse_names_question(question)
        if wanted is None:
            raise ReadError(question, errno.EOPNOTSUPP, Reason.NOT_OFFERED)
        content = self._content(wanted.bus, question)
        return encode_names(match_ids(content, wanted.vendor, wanted.device))

    def _content(self, bus: str, question: str) -> bytes:
        if bus not in self._contents:
            self._contents[bus] = self._first_file(bus, question)
        return self._contents[bus]

    def _first_file(self, bus: str, question: str) -> bytes:
        for path in IDS_FILES[bus]:
            try:
                return self._read(path)
            except ReadError as failure:
                if failure.number not in NOT_THERE:
                    raise ReadError(question, failure.number, failure.reason) from None
        raise ReadError(question, errno.EOPNOTSUPP, Reason.NOT_OFFERED)
