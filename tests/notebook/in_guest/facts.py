"""Puts questions to the kernel and prints its answers as JSON, each with its errno if there is one.

    python3 facts.py < QUESTIONS.json > ANSWERS.json
    python3 facts.py HELD GO < QUESTIONS.json &

A question is `[kind, path]`, and its folder may be a pattern: every path that fits is answered. The
second form opens what it is to read, makes the file HELD, waits until there is a file GO, and reads
then; what has been pulled in the meantime is still open. It writes its answers into GO's folder, as
`answers.json`.
"""

import errno
import json
import os
import stat
import sys
import time
from collections.abc import Callable, Iterator, Sequence
from pathlib import Path

Answer = dict[str, object]

ROOT = Path("/")
MAGIC = frozenset("*?[")
CHUNK = 1 << 16
WAITED_SECONDS = 60.0


def read(descriptor: int) -> bytes:
    """Everything from where the file stands."""
    pieces = []
    while piece := os.read(descriptor, CHUNK):
        pieces.append(piece)
    return b"".join(pieces)


def open_file(path: str) -> int:
    """A descriptor for reading; nothing is waited for."""
    return os.open(path, os.O_RDONLY | os.O_NONBLOCK | os.O_CLOEXEC)


def content(path: str) -> Answer:
    """The content, as text where it is such, in hexadecimal digits otherwise."""
    descriptor = open_file(path)
    try:
        return shown(read(descriptor))
    finally:
        os.close(descriptor)


def shown(raw: bytes) -> Answer:
    """Bytes as JSON can hold them."""
    try:
        text = raw.decode("ascii")
    except UnicodeDecodeError:
        return {"hex": raw.hex()}
    is_text = text.replace("\n", "").replace("\t", "").isprintable()
    return {"text": text} if is_text else {"hex": raw.hex()}


def sizes(path: str) -> Answer:
    """How many bytes the file says that it has, and how many are read."""
    descriptor = open_file(path)
    try:
        return {"text": f"told {os.fstat(descriptor).st_size} read {len(read(descriptor))}"}
    finally:
        os.close(descriptor)


def opening(path: str) -> Answer:
    """Whether it can be opened; nothing is read."""
    os.close(open_file(path))
    return {"text": "opened"}


def mode(path: str) -> Answer:
    """Rights and owner of what the path leads to."""
    status = Path(path).stat()
    return {"text": f"{stat.S_IMODE(status.st_mode):04o} {status.st_uid}:{status.st_gid}"}


def names(path: str) -> Answer:
    """The names in a folder."""
    return {"names": sorted(entry.name for entry in Path(path).iterdir())}


def target(path: str) -> Answer:
    """Where a link leads, from the root."""
    leads = Path(path).readlink()
    return {"target": os.path.normpath(Path(path).parent.resolve() / leads)}


KINDS: dict[str, Callable[[str], Answer]] = {
    "read": content,
    "sizes": sizes,
    "open": opening,
    "mode": mode,
    "names": names,
    "target": target,
}


def places(pattern: str) -> Iterator[str]:
    """The paths that fit; a name without a pattern need not be there, its folder must."""
    folder, _, name = pattern.rpartition("/")
    if MAGIC.intersection(name):
        yield from sorted(map(str, ROOT.glob(pattern)))
    else:
        folders = sorted(map(str, ROOT.glob(folder))) or [f"/{folder}"]
        yield from (f"{found}/{name}" for found in folders)


def failed(failure: OSError) -> Answer:
    """An errno by its name."""
    return {"errno": errno.errorcode.get(failure.errno or 0, str(failure.errno))}


def answer(kind: str, pattern: str) -> Iterator[Answer]:
    """What the kernel says to each path that fits."""
    for path in places(pattern):
        try:
            said = KINDS[kind](path)
        except OSError as failure:
            said = failed(failure)
        yield {"kind": kind, "asked": pattern, "path": real(path, whole=kind != "target"), **said}


def real(path: str, *, whole: bool) -> str:
    """The path with its links followed, that at its end only if `whole`."""
    folder, _, name = path.rpartition("/")
    return (os.path.realpath(path) if whole else f"{os.path.realpath(folder)}/{name}").lstrip("/")


def answer_later(patterns: Sequence[str], held: Path, go: Path) -> list[Answer]:
    """Opens files, waits until something was pulled, then reads them."""
    opened = [
        (pattern, path.lstrip("/"), open_file(path))
        for pattern in patterns
        for path in places(pattern)
    ]
    held.touch()
    until = time.monotonic() + WAITED_SECONDS
    while not go.exists() and time.monotonic() < until:
        time.sleep(0.05)
    answers = []
    for pattern, path, descriptor in opened:
        try:
            said = shown(read(descriptor))
        except OSError as failure:
            said = failed(failure)
        answers.append({"kind": "held", "asked": pattern, "path": path.lstrip("/"), **said})
    return answers


def main() -> None:
    """Answers at once, or later when told by what files."""
    questions = json.load(sys.stdin)
    if sys.argv[1:]:
        held, go = map(Path, sys.argv[1:])
        answers = answer_later([pattern for _, pattern in questions], held, go)
        (go.parent / "answers.json").write_text(json.dumps(answers), "ascii")
        return
    json.dump([each for kind, pattern in questions for each in answer(kind, pattern)], sys.stdout)


if __name__ == "__main__":
    main()
