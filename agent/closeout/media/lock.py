"""The packages of a build by name, version and digest: the lock file of a cache."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Any, Final

from closeout.media.trouble import MediaError
from closeout.model.frozen import content_of, frozen

FORMAT: Final = 1
FILE: Final = "lock.json"
PACKAGES: Final = "debs"
WHEELS: Final = "wheels"
WHEEL: Final = ".whl"
BUFFER: Final = 1 << 20


@frozen
class Package:
    """One package: its file in the cache, and what must be in it."""

    name: str
    version: str
    file: str
    size: int
    sha256: str


@frozen
class Lock:
    """The packages of each part of a build."""

    kernel: str
    has_firmware: bool
    asked: Mapping[str, tuple[str, ...]]
    """The packages that were asked for, before what they need."""
    parts: Mapping[str, tuple[Package, ...]]

    @property
    def packages(self) -> tuple[Package, ...]:
        """All of them, each once, by their files' names."""
        by_file = {one.file: one for part in self.parts.values() for one in part}
        return tuple(by_file[file] for file in sorted(by_file))


def digest_of(file: Path) -> str:
    """SHA-256 of a file's content."""
    with file.open("rb") as stream:
        return hashlib.file_digest(stream, "sha256").hexdigest()


def save_lock(lock: Lock, cache: Path) -> None:
    """Writes the lock beside the packages."""
    parts = {part: [content_of(one) for one in found] for part, found in lock.parts.items()}
    told = {
        "closeout_media_lock": FORMAT,
        "kernel": lock.kernel,
        "firmware": lock.has_firmware,
        "asked": lock.asked,
        "parts": parts,
    }
    (cache / FILE).write_text(json.dumps(told, indent=1, sort_keys=True) + "\n", "utf-8")


def load_lock(cache: Path) -> Lock:
    """The lock of a cache; raises MediaError where it cannot be read."""
    file = cache / FILE
    try:
        told: Any = json.loads(file.read_text("utf-8"))
        if told["closeout_media_lock"] != FORMAT:
            raise MediaError(f"{file}: of another version; build once without --offline")
        parts = {
            part: tuple(Package(**one) for one in found) for part, found in told["parts"].items()
        }
        asked = {part: tuple(names) for part, names in told["asked"].items()}
        return Lock(kernel=told["kernel"], has_firmware=told["firmware"], asked=asked, parts=parts)
    except OSError as error:
        wrong = f"{file}: cannot be read: {error.strerror}; build once without --offline"
        raise MediaError(wrong) from error
    except (ValueError, TypeError, KeyError, AttributeError) as error:
        raise MediaError(f"{file}: no lock of packages; build once without --offline") from error


def place_of(package: Package, cache: Path) -> Path:
    """Where the cache has it."""
    return cache / (WHEELS if package.file.endswith(WHEEL) else PACKAGES) / package.file


def is_kept(package: Package, cache: Path) -> bool:
    """Whether the cache holds just this file."""
    file = place_of(package, cache)
    return file.is_file() and digest_of(file) == package.sha256


def wrong_in_cache(lock: Lock, cache: Path) -> Iterator[str]:
    """A line for each package that is missing in the cache, or another than the lock says."""
    for package in lock.packages:
        file = place_of(package, cache)
        if not file.is_file():
            yield f"{file}: is missing; build once without --offline"
        elif not is_kept(package, cache):
            yield f"{file}: is not the file that {FILE} names (SHA-256 differs); remove it"
