"""Reports on disk: `ORDER/attempt-0002-3fa2c1d9/`, whole or not at all, and never overwritten.

What is said of an attempt afterwards is a revision beside it, `attempt-0002-3fa2c1d9-r2`; a draft,
which counts as no attempt, is `draft-0001-3fa2c1d9`; a unit that was not judged is `unrun-0001`.

The folder of an attempt is written under a hidden name beside its place, flushed, and renamed:
a stick pulled out half way leaves a hidden folder, never half a report.
"""

from __future__ import annotations

import errno
import hashlib
import os
import re
from collections.abc import Callable, Mapping
from contextlib import suppress
from pathlib import Path
from typing import Final

from closeout.model.late_pattern import late_pattern
from closeout.report.failure import StoreError

NO_ORDER: Final = "no-order"
LONGEST_PIECE: Final = 48
DIGEST_CHARACTERS: Final = 8

RESERVED: Final = late_pattern(r"(con|prn|aux|nul|com\d|lpt\d|no-order)(\..*)?", re.IGNORECASE)
"""Names that no folder can have on some systems a stick is read on, and our own for no order."""

MEANINGS: Final = {
    errno.ENOSPC: "the disk is full; free some space or choose another folder",
    errno.EDQUOT: "the quota is used up; free some space or choose another folder",
    errno.EROFS: "the file system is read-only; choose another folder",
    errno.EACCES: "no permission; choose another folder",
    errno.EPERM: "not permitted; choose another folder",
    errno.EEXIST: "it is there already, and nothing is overwritten",
    errno.ENOTEMPTY: "it is there already, and nothing is overwritten",
    errno.ENOTDIR: "a part of the path is a file; choose another folder",
    errno.ENAMETOOLONG: "the path is too long; choose another folder",
    errno.EIO: "the disk reports an error; choose another one",
}

_ATTEMPT: Final = late_pattern(r"attempt-(\d{1,9})(-.*)?")
_DRAFT: Final = late_pattern(r"draft-(\d{1,9})(-.*)?")
_UNRUN: Final = late_pattern(r"unrun-(\d{1,9})")
_REVISION: Final = late_pattern(r"-r(\d{1,9})")
_FILE: Final = late_pattern(r"[A-Za-z0-9][A-Za-z0-9._-]*")


def attempt_folder(root: Path, order: str, attempt: int, evidence_digest: str) -> Path:
    """Where a report belongs: `ROOT/ORDER/attempt-NNNN-DIGEST`, `no-order` without an order."""
    return order_folder(root, order) / attempt_id(attempt, evidence_digest)


def attempt_id(attempt: int, evidence_digest: str) -> str:
    """`attempt-0002-3fa2c1d9`: the number, and the first eight characters of the digest.

    The digest may have its algorithm in front (`sha256:`). Two stations that both make attempt 2
    of an order still have folders of different names.
    """
    return f"attempt-{attempt:04d}-{_beginning(evidence_digest)}"


def draft_folder(root: Path, order: str, evidence_digest: str) -> Path:
    """Where the next draft of the order belongs: `ROOT/ORDER/draft-NNNN-DIGEST`.

    Raises StoreError when the folder of the order is there and cannot be listed.
    """
    folder = order_folder(root, order)
    return folder / f"draft-{_next_number(folder, _DRAFT):04d}-{_beginning(evidence_digest)}"


def unrun_folder(root: Path, order: str) -> tuple[Path, int]:
    """Where the order's next record of a unit that was not judged belongs, and its number.

    Raises StoreError when the folder of the order is there and cannot be listed.
    """
    folder = order_folder(root, order)
    number = _next_number(folder, _UNRUN)
    return folder / f"unrun-{number:04d}", number


def revision_id(attempt: int, evidence_digest: str, revision: int) -> str:
    """`attempt-0002-3fa2c1d9` for the first revision, `attempt-0002-3fa2c1d9-r2` for the next."""
    own = attempt_id(attempt, evidence_digest)
    return own if revision == 1 else f"{own}-r{revision}"


def newest_revision(folder: Path, attempt: str) -> int:
    """The highest revision of the attempt, named without one, among the folders; at least 1.

    Raises StoreError when the folder cannot be listed.
    """
    matches = [
        _REVISION.fullmatch(name.removeprefix(attempt))
        for name in _names_in(folder)
        if name.startswith(attempt)
    ]
    return max((int(match[1]) for match in matches if match), default=1)


def _beginning(digest: str) -> str:
    digits = re.sub(r"[^0-9a-f]", "", digest.rsplit(":", 1)[-1].lower())
    return digits[:DIGEST_CHARACTERS] or "none"


def order_folder(root: Path, order: str) -> Path:
    """The folder of an order. A number that is no safe name gets a digest to stay its own."""
    if not order:
        return root / NO_ORDER
    safe = re.sub(r"[^A-Za-z0-9._-]", "_", order)[:LONGEST_PIECE].strip(".")
    if safe == order and not RESERVED.fullmatch(safe):
        return root / safe
    digest = hashlib.sha256(order.encode("utf-8", "surrogatepass")).hexdigest()
    return root / f"order-{safe}-{digest[:DIGEST_CHARACTERS]}"


def next_attempt(root: Path, order: str) -> int:
    """One more than the highest attempt in the order's folder; 1 where there is none.

    Raises StoreError when the folder is there and cannot be listed: guessing a number would
    hide earlier attempts.
    """
    return _next_number(order_folder(root, order), _ATTEMPT)


def _next_number(folder: Path, form: re.Pattern[str]) -> int:
    matches = [form.fullmatch(name) for name in _names_in(folder)]
    return 1 + max((int(match[1]) for match in matches if match), default=0)


def _names_in(folder: Path) -> list[str]:
    try:
        return [path.name for path in folder.iterdir()]
    except FileNotFoundError:
        return []
    except OSError as failure:
        raise _store_error(folder, failure) from failure


def write_new(folder: Path, files: Mapping[str, bytes]) -> tuple[Path, ...]:
    """The paths of the files, all written and flushed in a folder that was not there before.

    Raises StoreError, and leaves nothing behind, when the folder exists or cannot be written.
    """
    for name in files:
        if not _FILE.fullmatch(name):
            raise StoreError(str(folder), f"{name!r} is no file name")
    hidden = folder.with_name(f".{folder.name}.{_chance()}.part")
    try:
        if os.path.lexists(folder):
            raise FileExistsError(errno.EEXIST, os.strerror(errno.EEXIST))
        folder.parent.mkdir(parents=True, exist_ok=True)
        hidden.mkdir()
        for name, content in files.items():
            _write_flushed(hidden / name, content)
        _flush_folder(hidden)
        hidden.rename(folder)
        _flush_folder(folder.parent)
    except OSError as failure:
        import shutil  # noqa: PLC0415 - loads three compressors, and is seldom needed

        shutil.rmtree(hidden, ignore_errors=True)
        raise _store_error(folder, failure) from failure
    return tuple(folder / name for name in files)


def write_file(file: Path, content: bytes) -> None:
    """One file, whole and flushed, where there was none before.

    Raises StoreError, and leaves nothing behind, when it exists or cannot be written.
    """
    _put(file, content, _give_name)


def replace_file(file: Path, content: bytes) -> None:
    """One file, whole and flushed, in the place of the one that is there.

    Raises StoreError, and leaves the old one, when it cannot be written.
    """
    _put(file, content, Path.rename)


def _put(file: Path, content: bytes, give_name: Callable[[Path, Path], object]) -> None:
    hidden = file.with_name(f".{file.name[:LONGEST_PIECE]}.{_chance()}.part")
    try:
        _write_flushed(hidden, content)
        give_name(hidden, file)
        _flush_folder(file.parent)
    except OSError as failure:
        raise _store_error(file, failure) from failure
    finally:
        with suppress(OSError):
            hidden.unlink(missing_ok=True)


def _give_name(hidden: Path, file: Path) -> None:
    """Link, which never overwrites; rename where a stick's file system has no links."""
    try:
        os.link(hidden, file)
    except OSError as failure:
        if failure.errno not in {errno.EPERM, errno.EOPNOTSUPP, errno.ENOSYS}:
            raise
        if os.path.lexists(file):
            raise FileExistsError(errno.EEXIST, os.strerror(errno.EEXIST)) from failure
        hidden.rename(file)


def _write_flushed(path: Path, content: bytes) -> None:
    with path.open("xb") as stream:
        stream.write(content)
        stream.flush()
        os.fsync(stream.fileno())


def _flush_folder(folder: Path) -> None:
    """Flush the names in a folder; a file system that cannot do so for folders is let be."""
    handle = os.open(folder, os.O_RDONLY | os.O_DIRECTORY)
    try:
        os.fsync(handle)
    except OSError as failure:
        if failure.errno not in {errno.EINVAL, errno.EOPNOTSUPP}:
            raise
    finally:
        os.close(handle)


def _chance() -> str:
    """Eight characters that no other run has for its hidden names."""
    return os.urandom(4).hex()


def _store_error(folder: Path, failure: OSError) -> StoreError:
    number = failure.errno or 0
    meaning = MEANINGS.get(number) or os.strerror(number)
    return StoreError(str(folder), meaning)
