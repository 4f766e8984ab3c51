"""Reports in files and folders: what was named, and what lies below it.

In a folder are looked at: `report.json` and `unrun.json` with what lies beside them, documents that
lie alone, archives, and the report files of a stick. What is hidden was not written to its end.
Links are not followed: they may lead in a circle, or out of what was named.
"""

from __future__ import annotations

import os
from collections.abc import Callable, Iterable, Iterator, Mapping
from pathlib import Path
from typing import Final, TypeAlias

from closeout.depot.archives import is_archive, open_archive
from closeout.depot.bundle import (
    BESIDE,
    DOCUMENT,
    MAINS,
    REPORT,
    UNRUN,
    Bundle,
    Spoiled,
    make_bundle,
)
from closeout.depot.opened import (
    NO_REPORT,
    UnreadError,
    is_report_file,
    read_document,
    read_plain,
    read_report_files,
)

Arrivals: TypeAlias = Iterator[Bundle | Spoiled]

OF_A_STICK: Final = ("agent", "reports")
"""Folders that a stick has; its reports lie in the last of them."""
UNRUN_HEAD: Final = b'"unrun"'
HEAD: Final = 64


def find_arrivals(paths: Iterable[Path]) -> Arrivals:
    """Every report at the paths, in the order of what was named and of the names in it."""
    for path in paths:
        try:
            yield from _look_at(path)
        except (OSError, ValueError) as failure:
            yield Spoiled(place=str(path), reason=f"cannot be read: {failure}")


def _look_at(path: Path) -> Arrivals:
    if path.is_dir():
        is_stick = all((path / name).is_dir() for name in OF_A_STICK)
        yield from _walk(path / OF_A_STICK[-1] if is_stick else path)
    elif opener := _opener_of(path.name):
        yield from _opened(path, opener)
    else:
        yield from _opened(path, _read_named)


def _walk(top: Path) -> Arrivals:
    failures: list[OSError] = []
    found = False
    for place, folders, names in os.walk(top, onerror=failures.append):
        folders[:] = sorted(name for name in folders if not name.startswith("."))
        for arrival in _in_folder(Path(place), sorted(names)):
            found = True
            yield arrival
    for failure in failures:
        yield Spoiled(place=str(failure.filename), reason=f"cannot be listed: {failure.strerror}")
    if not found and not failures:
        yield Spoiled(place=str(top), reason=NO_REPORT)


def _in_folder(folder: Path, names: Iterable[str]) -> Arrivals:
    listed = tuple(names)
    has_main = not set(MAINS).isdisjoint(listed)
    for name in listed:
        if name.startswith(".") or (has_main and name.endswith(DOCUMENT)):
            continue  # a document beside the report was made of it
        path = folder / name
        if name in MAINS:
            yield from _opened(path, _read_bundle)
        elif opener := _opener_of(name):
            if path.is_symlink():
                continue
            yield from _opened(path, opener)


def _opened(path: Path, opener: Callable[[Path], Arrivals]) -> Arrivals:
    try:
        yield from opener(path)
    except UnreadError as error:
        yield Spoiled(place=str(path), reason=str(error))


def _opener_of(name: str) -> Callable[[Path], Arrivals] | None:
    """What opens a file of this name that holds reports."""
    ending = Path(name).suffix.lower()
    return CARRIERS.get(ending) or (open_archive if is_archive(name) else None)


def _read_bundle(main: Path) -> Arrivals:
    """A report and what lies beside it under the names that a check gives."""
    raw = read_plain(main)
    beside = dict(_beside(main.parent, BESIDE[main.name]))
    yield make_bundle(str(main.parent), main.name, raw, beside)


def _beside(folder: Path, names: Iterable[str]) -> Iterator[tuple[str, bytes]]:
    for name in names:
        if os.path.lexists(folder / name):
            yield name, read_plain(folder / name)


def _read_named(file: Path) -> Arrivals:
    """A file that was named itself, whatever its name is: the report, or a record of none."""
    raw = read_plain(file, follows=True)
    if file.name in MAINS:
        beside: Mapping[str, bytes] = dict(_beside(file.parent, BESIDE[file.name]))
        yield make_bundle(str(file.parent), file.name, raw, beside)
        return
    main = UNRUN if UNRUN_HEAD in raw[:HEAD] else REPORT
    yield make_bundle(str(file), main, raw, {})


def _read_zip(path: Path) -> Arrivals:
    """A report file of a stick, or an archive of many."""
    if is_report_file(path):
        yield from read_report_files(str(path), read_plain(path, follows=True))
    else:
        yield from open_archive(path)


def _read_document(path: Path) -> Arrivals:
    """The report in a document for paper, with what the document holds beside it."""
    yield from read_document(str(path), read_plain(path, follows=True))


CARRIERS: Final[Mapping[str, Callable[[Path], Arrivals]]] = {
    ".zip": _read_zip,
    DOCUMENT: _read_document,
}
"""Files that carry a report inside, by how their names end."""
