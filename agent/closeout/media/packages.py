"""Which packages a build takes, asked of the distribution's archive and kept in the cache."""

from __future__ import annotations

import shutil
from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import Final
from urllib.parse import unquote

from closeout.media.lock import (
    PACKAGES,
    Lock,
    Package,
    is_kept,
    load_lock,
    place_of,
    save_lock,
    wrong_in_cache,
)
from closeout.media.programs import run
from closeout.media.recipe import BOOT, NOT_UNPACKED, TOOLS, Wanted
from closeout.media.shared import PAPER
from closeout.media.trouble import MediaError
from closeout.media.wheels import WHEELS, fetch_wheels

SETTINGS: Final = """\
Dir::Etc::sourcelist "{place}/sources.list";
Dir::Etc::sourceparts "/dev/null";
Dir::Etc::preferences "/dev/null";
Dir::Etc::preferencesparts "/dev/null";
Dir::State "{place}";
Dir::State::status "{place}/status";
Dir::Cache "{place}";
APT::Architecture "amd64";
APT::Architectures "amd64";
APT::Install-Recommends "false";
APT::Sandbox::User "root";
Acquire::Languages "none";
"""
QUIET: Final = ("apt-get", "--quiet=2", "--yes")


def kept_packages(wanted: Wanted, cache: Path) -> Lock:
    """The packages of the cache's lock; nothing is asked of the archive."""
    lock = load_lock(cache)
    if (lock.kernel, lock.has_firmware) != (wanted.kernel, wanted.has_firmware):
        told = "with" if lock.has_firmware else "without"
        raise MediaError(
            f"{cache}: kept for the kernel {lock.kernel} {told} firmware; use another cache"
        )
    asked = _asked(wanted)
    if bool(lock.asked.get(PAPER)) != wanted.has_documents:
        told = "without" if wanted.has_documents else "with"
        raise MediaError(f"{cache}: kept {told} documents (--no-pdf); use another cache")
    if lock.asked != asked:
        raise MediaError(f"{cache}: kept for another closeout; build once without --offline")
    if wrong := tuple(wrong_in_cache(lock, cache)):
        raise MediaError(*wrong)
    return lock


def fetched_packages(wanted: Wanted, cache: Path) -> Lock:
    """Today's packages of the archive, whose signature is checked; they and their lock are kept."""
    settings = _prepared(wanted, cache / "apt")
    run((*QUIET, "update"), settings)
    asked = _asked(wanted)
    # The loaders alone; of all others what they need too.
    parts = {
        part: _listed(("download" if part == "boot" else "install", *names), settings)
        for part, names in asked.items()
        if part != PAPER
    }
    parts[PAPER] = _wheels(wanted)
    lock = Lock(kernel=wanted.kernel, has_firmware=wanted.has_firmware, asked=asked, parts=parts)
    _download(lock, cache, settings)
    fetch_wheels(lock, cache)
    save_lock(lock, cache)
    return lock


def _asked(wanted: Wanted) -> dict[str, tuple[str, ...]]:
    paper = tuple(f"{wheel.name}={wheel.version}" for wheel in _wheels(wanted))
    return {"boot": BOOT, PAPER: paper, "system": wanted.system, "tools": TOOLS}


def _wheels(wanted: Wanted) -> tuple[Package, ...]:
    return WHEELS if wanted.has_documents else ()


def _prepared(wanted: Wanted, place: Path) -> dict[str, str]:
    """The package tool's surroundings, in which nothing is installed and no other source known."""
    for folder in ("lists/partial", "archives/partial"):
        (place / folder).mkdir(parents=True, exist_ok=True)
    (place / "status").write_bytes(b"")
    (place / "sources.list").write_text("\n".join(wanted.sources()) + "\n", "utf-8")
    (place / "settings").write_text(SETTINGS.format(place=place.resolve()), "utf-8")
    return {"APT_CONFIG": str(place / "settings"), "DEBIAN_FRONTEND": "noninteractive"}


def _listed(asked: Sequence[str], settings: dict[str, str]) -> tuple[Package, ...]:
    """The packages that the package tool would fetch: the second word of each of its lines."""
    printed = run((*QUIET, "--print-uris", *asked), settings).decode()
    files = sorted(line.split()[1] for line in printed.splitlines() if line.startswith("'"))
    named = {_as_named(file): file for file in files}
    told = run(("apt-cache", "--quiet=2", "show", *named), settings).decode()
    by_name = {f"{one['Package']}={one['Version']}": one for one in _stanzas(told)}
    return tuple(
        Package(
            name=by_name[name]["Package"],
            version=by_name[name]["Version"],
            file=file,
            size=int(by_name[name]["Size"]),
            sha256=by_name[name]["SHA256"],
        )
        for name, file in named.items()
        if by_name[name]["Package"] not in NOT_UNPACKED
    )


def _as_named(file: str) -> str:
    name, version, _ = unquote(file).split("_")
    return f"{name}={version}"


def _stanzas(told: str) -> Iterator[dict[str, str]]:
    """The fields of one line of each stanza of an index."""
    for stanza in told.strip().split("\n\n"):
        lines = (line.split(": ", 1) for line in stanza.splitlines() if ": " in line)
        yield {key: value for key, value in lines if not key.startswith(" ")}


def _download(lock: Lock, cache: Path, settings: dict[str, str]) -> None:
    """Fetches what is not there as the lock names it; the package tool checks it once more."""
    folder = cache / PACKAGES
    folder.mkdir(exist_ok=True)
    absent = {
        package.file: f"{package.name}={package.version}"
        for package in lock.packages
        if package not in lock.parts[PAPER] and not is_kept(package, cache)
    }
    if not absent:
        return
    partial = cache / "arriving"
    shutil.rmtree(partial, ignore_errors=True)
    partial.mkdir()
    run(("env", "-C", partial, *QUIET, "download", *absent.values()), settings)
    for file in absent:
        (partial / file).replace(folder / file)
    partial.rmdir()


def files_of(packages: Sequence[Package], cache: Path) -> Iterator[Path]:
    """Where the packages lie."""
    return (place_of(package, cache) for package in packages)
