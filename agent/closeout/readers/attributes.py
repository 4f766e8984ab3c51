"""Kernel attribute files to readings: text, numbers, flags, links and listings (sysfs rules)."""

from __future__ import annotations

import errno
from collections.abc import Callable
from typing import Final, TypeVar

from closeout.decode.numerals import parse_whole
from closeout.decode.plain_text import decode_text
from closeout.kernel.failure import ReadError, Reason
from closeout.kernel.tree import KernelTree
from closeout.model.inventory import Listing
from closeout.model.reading import Absent, Blank, Reading, Unreadable, Value
from closeout.readers.asked_once import AskedOnce

T = TypeVar("T")

LONGEST_QUOTE: Final = 40
CLASSES: Final = "sys/class"
ALWAYS_THERE: Final = "net"
SYSFS: Final = "sys/"
PROCFS: Final = "proc/"
PAGE: Final = 4096
GONE: Final = frozenset({errno.ENOENT, errno.ENOTDIR})
ADVICE: Final = {
    "EACCES": "run as root",
    "EPERM": "run as root",
    "ENODEV": "the device went away or its firmware gives no value; read again",
    "ENODATA": "no sample yet; read again",
    "EAGAIN": "not ready yet; read again",
    "EIO": "bus or device error; reseat the part and read again",
    "EINVAL": "the driver has no such value in this state",
    "ENXIO": "the driver let go of the device; read again",
    "EREMOTEIO": "the device does not answer on its bus; reseat its ribbon",
    "ETIMEDOUT": "the device does not answer; reseat its cable",
    "EBUSY": "in use by another program; close it and read again",
    "ENOMEDIUM": "no medium is in",
    "DIED": "reading it ended the process that read; restart and read again",
    "DEADLINE": "the kernel did not answer in time; restart and read again",
    "TOO_LARGE": "larger than such a file can be",
    "NOT_RECORDED": "the recording does not hold this; capture again with this version",
    "NOT_OFFERED": "this source cannot answer it",
    "ASLEEP": "the disk has spun down and was left asleep; use it, then read again",
    "ENOTSUP": "the device or its controller refuses the question",
}


def no_value(failure: ReadError) -> Absent | Unreadable:
    """The reading that a failed question becomes: gone is absent, all else is unreadable."""
    if failure.reason is Reason.KERNEL and failure.number in GONE:
        return Absent(reason="the kernel has no such file", sources=(failure.question,))
    advice = ADVICE.get(failure.code, "read again; look into the kernel log")
    return Unreadable(error=failure.code, advice=advice, sources=(failure.question,))


def not_understood(path: str, wanted: str, found: str) -> Unreadable:
    """The reading for content that is there and makes no sense."""
    shown = found if len(found) <= LONGEST_QUOTE else found[:LONGEST_QUOTE] + "..."
    return Unreadable(
        error="MALFORMED", advice=f"{wanted} was expected, {shown!r} was read", sources=(path,)
    )


def read_bytes(tree: KernelTree, path: str) -> Reading[bytes]:
    """The whole content of a file as it is."""
    try:
        return Value(value=tree.read(path), sources=(path,))
    except ReadError as failure:
        return no_value(failure)


def decode_line(raw: bytes) -> str:
    """Text of a kernel file; only one newline at the end is dropped."""
    return decode_text(raw).removesuffix("\n")


def _read_text(tree: KernelTree, path: str) -> Reading[str]:
    raw = _read_whole(tree, path)
    if not isinstance(raw, Value):
        return raw
    text = decode_line(raw.value).rstrip(" \t\0")
    if not text:
        return Blank(reason="the file holds no text", sources=raw.sources)
    return Value(value=text, sources=raw.sources)


read_text: Final = AskedOnce(_read_text)
"""The text of an attribute, right-trimmed of padding; nothing but spaces and NULs is blank."""


def _read_whole(tree: KernelTree, path: str) -> Reading[bytes]:
    """The bytes of a text: its last line ends, and in sysfs it is at most a page.

    Documentation/filesystems/sysfs.rst: the buffer has PAGE_SIZE bytes. That texts of sysfs and
    procfs end with a newline is the convention of what writes them; what lacks it was cut off.
    """
    raw = read_bytes(tree, path)
    if not isinstance(raw, Value) or not path.startswith((SYSFS, PROCFS)):
        return raw
    if len(raw.value) > PAGE and path.startswith(SYSFS):
        return not_understood(path, "a page of text at most", f"{len(raw.value)} bytes")
    if raw.value.strip(b" \t\0") and not raw.value.endswith(b"\n"):
        return not_understood(path, "a line that ends", decode_text(raw.value))
    return raw


def read_integer(tree: KernelTree, path: str) -> Reading[int]:
    """A whole number in decimal."""
    return understand(read_text(tree, path), "a whole number", parse_whole)


def read_flag(tree: KernelTree, path: str) -> Reading[bool]:
    """A 0 or a 1."""
    return understand(read_text(tree, path), "0 or 1", {"0": False, "1": True}.get)


def understand(text: Reading[str], wanted: str, parse: Callable[[str], T | None]) -> Reading[T]:
    """The reading with its text parsed; what `parse` answers None to is not understood."""
    if not isinstance(text, Value):
        return text
    parsed = parse(text.value)
    if parsed is None:
        return not_understood(text.sources[0], wanted, text.value)
    return Value(value=parsed, sources=text.sources)


def read_link_name(tree: KernelTree, link: str) -> Reading[str]:
    """The last part of where a link leads: the driver of `.../driver`, say."""
    try:
        return Value(value=tree.target(link).rsplit("/", 1)[-1], sources=(link,))
    except ReadError as failure:
        return no_value(failure)


def list_folder(tree: KernelTree, folder: str) -> Listing:
    """The names in a folder; a folder that is missing or unreadable is not an empty one.

    A device may have an odd name that it gave itself; a listing of nothing else is noise.
    """
    try:
        names = tree.names(folder)
    except ReadError as failure:
        return no_value(failure)
    if names and not any(map(str.isprintable, names)):
        return not_understood(folder, "names of the kernel's", names[0])
    return Value(value=names, sources=(folder,))


def list_class(tree: KernelTree, folder: str) -> Listing:
    """The names in a class folder that its driver module makes, such as `sys/class/nvme`.

    Where the folder is missing but the classes that every kernel shows are there (`net` always
    holds the loopback interface), no driver of this class is loaded, so there is no such device
    as far as the kernel knows: an empty listing. In a tree without them nothing is known, and
    the failure stands.
    """
    listing = list_folder(tree, folder)
    if not isinstance(listing, Absent):
        return listing
    classes = list_folder(tree, CLASSES)
    if isinstance(classes, Value) and ALWAYS_THERE in classes.value:
        return Value(value=(), sources=(folder, *classes.sources))
    return listing
