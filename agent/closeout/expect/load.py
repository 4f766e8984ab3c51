"""Profiles and work orders from files: the only place of this package that opens them."""

from __future__ import annotations

import os
from collections.abc import Iterable, Iterator
from hashlib import sha256
from pathlib import Path
from typing import Final, TypeVar

from closeout.expect.ancestry import FindParent
from closeout.expect.choose import ANY_NOTEBOOK, choose_profile
from closeout.expect.demand import read_line
from closeout.expect.document import LARGEST_FILE, read_document
from closeout.expect.file_head import is_format
from closeout.expect.merge import expectations_of
from closeout.expect.mistake import Mistake, Mistakes, nearest, quote_name, whole_file
from closeout.expect.parts import parts_of
from closeout.expect.profile import Match, Profile, build_profile, parse_profile
from closeout.expect.proofreader import Proofreader
from closeout.expect.shipped import ShippedFileError, shipped_folder
from closeout.expect.work_order import WorkOrder
from closeout.model.repair_map import RepairMap
from closeout.model.report import SourceFile

__all__ = [
    "Match",
    "Mistake",
    "Mistakes",
    "Profile",
    "WorkOrder",
    "choose_profile",
    "expectations_of",
    "lint_file",
    "lint_files",
    "load_profile",
    "load_work_order",
    "parents_beside",
    "parse_profile",
    "parts_of",
    "profile_files",
    "profile_set",
    "read_set",
    "shipped_parent",
    "shipped_profile_for",
    "shipped_profiles",
]

SUFFIXES: Final = (".toml", ".json")
OTHER_FOLDERS: Final = frozenset(
    {"demo", "examples", "findings", "kernel-log", "parsed", "repairs", "schemas"}
)
SET_FILE: Final = "set.toml"
OTHER_FILES: Final = frozenset({SET_FILE})
SET_FORMAT: Final = 1
FOLDERS_ABOVE: Final = 3
"""From the folder of a file up: its id may have three parts, and each but the last is a folder."""

Loaded = TypeVar("Loaded")


def load_profile(wanted: str, *, with_ancestors: bool = False) -> Profile | Mistakes:
    """The profile in a file, or the shipped one with this id.

    What ends in `.toml` or `.json` is a file; anything else is an id. A base is no model's
    profile, so it is one only where it is asked for.
    """
    if wanted.endswith(SUFFIXES):
        path = Path(wanted)
        raw = read_file(path)
        if isinstance(raw, Mistakes):
            return raw
        return _if_for_units(
            parse_profile(wanted, raw, parents_beside(path)), wanted, with_ancestors
        )
    profiles = {profile.id: profile for profile in shipped_profiles()}
    if wanted in profiles:
        return _if_for_units(profiles[wanted], wanted, with_ancestors)
    offered = ", ".join(name for name, profile in profiles.items() if not profile.only_inherited)
    near = nearest(wanted, profiles)
    return whole_file(
        wanted, f"no shipped profile has this id, and no file ends so; allowed: {offered}{near}"
    )


def _if_for_units(
    loaded: Profile | Mistakes,
    wanted: str,
    with_ancestors: bool,  # noqa: FBT001 - handed on
) -> Profile | Mistakes:
    if isinstance(loaded, Profile) and loaded.only_inherited and not with_ancestors:
        return whole_file(wanted, "a base, which no unit is judged by; name a model's profile")
    return loaded


def load_work_order(path: Path) -> WorkOrder | Mistakes:
    """The work order in a file."""
    raw = read_file(path)
    if isinstance(raw, Mistakes):
        return raw
    from closeout.expect.order_file import parse_work_order  # noqa: PLC0415 - only with an order

    return parse_work_order(str(path), raw)


def shipped_profiles() -> tuple[Profile, ...]:
    """Every profile that ships, by id. Raises `ShippedFileError` where one has a mistake."""
    folder = shipped_folder("profiles")
    profiles = [_load_shipped(folder, path) for path in profile_files(folder)]
    if again := tuple(find_twins((profile.id, profile) for profile in profiles)):
        raise ShippedFileError(Mistakes(found=again).show())
    return tuple(sorted(profiles, key=lambda profile: profile.id))


def shipped_profile_for(manufacturer: str, product: str) -> Profile:
    """The one shipped profile that a unit is judged by: as `choose_profile` out of all of them.

    The files of other models are not looked into any further than for whose they are. Raises
    `ShippedFileError` where the chosen one has a mistake or is missing.
    """
    folder = shipped_folder("profiles")
    wanted = {"manufacturer": manufacturer, "product": product}
    for path in profile_files(folder):
        document = read_document(path.name, path.read_bytes())
        if isinstance(document, Mistakes) or "base" in document.tree:
            continue
        if document.tree.get("matches") == wanted:
            return _load_shipped(folder, path)
    fallback = folder / f"{ANY_NOTEBOOK}.toml"
    if not fallback.is_file():
        raise ShippedFileError(f"no profile {ANY_NOTEBOOK!r}")
    return _load_shipped(folder, fallback)


def lint_file(path: Path) -> Profile | WorkOrder | RepairMap | Mistakes:
    """What a profile, work order or repair map holds, or every mistake in it."""
    raw = read_file(path)
    return raw if isinstance(raw, Mistakes) else parse_any(str(path), raw, parents_beside(path))


def lint_files(paths: Iterable[Path]) -> Mistakes | None:
    """Every mistake in several files, and profiles that could be taken for each other.

    None where nothing is wrong. Having no file at all is a mistake, as nothing was looked at.
    """
    found: list[Mistake] = []
    profiles: list[tuple[str, Profile]] = []
    results = [(str(path), lint_file(path)) for path in paths]
    if not results:
        return whole_file("profile lint", "no file is given, so nothing was looked at")
    for name, result in results:
        if isinstance(result, Mistakes):
            found.extend(result.found)
        elif isinstance(result, Profile):
            profiles.append((name, result))
    found.extend(find_twins(profiles))
    return Mistakes(found=tuple(found)) if found else None


def shipped_parent(wanted: str) -> tuple[str, bytes] | None:
    """The shipped profile file with this id; None where none ships."""
    path = shipped_folder("profiles") / f"{wanted}.toml"
    return (path.name, path.read_bytes()) if path.is_file() else None


def parents_beside(path: Path) -> FindParent:
    """Finds what a file inherits: in the tree of folders that it is in, else among the shipped."""
    folders = (path.parent, *path.absolute().parent.parents)[:FOLDERS_ABOVE]

    def find(wanted: str) -> tuple[str, bytes] | Mistakes | None:
        for folder in folders:
            file = folder / f"{wanted}.toml"
            if file.is_file():
                raw = read_file(file)
                return raw if isinstance(raw, Mistakes) else (str(file), raw)
        return shipped_parent(wanted)

    return find


def parse_any(
    name: str, raw: bytes, find: FindParent = shipped_parent
) -> Profile | WorkOrder | RepairMap | Mistakes:
    """A work order or a repair map where the file says that it is one, a profile otherwise."""
    document = read_document(name, raw)
    if isinstance(document, Mistakes):
        return document
    digest = sha256(raw).hexdigest()
    if "work_order" in document.tree:
        from closeout.expect.order_file import build_work_order  # noqa: PLC0415 - only to lint it

        return build_work_order(document, digest)
    if "repair_map" in document.tree:
        from closeout.expect.repair_map import build_repair_map  # noqa: PLC0415 - only to lint it

        return build_repair_map(document, digest)
    return build_profile(document, digest, find)


def profile_set() -> SourceFile:
    """How a report names all shipped profiles: version, and SHA-256 over their ids and bytes.

    Raises `ShippedFileError` where the file with the version is missing or has a mistake.
    """
    folder = shipped_folder("profiles")
    digest = sha256()
    for path in profile_files(folder):
        name = path.relative_to(folder).with_suffix("").as_posix()
        digest.update(name.encode() + b"\0" + path.read_bytes() + b"\0")
    version = read_set(folder / SET_FILE)
    return SourceFile(name="profiles", revision=version, digest=digest.hexdigest())


def read_set(path: Path) -> str:
    """The version in the file of a set; `ShippedFileError` with what is wrong in it."""
    raw = read_file(path)
    document = raw if isinstance(raw, Mistakes) else read_document(path.name, raw)
    if isinstance(document, Mistakes):
        raise ShippedFileError(document.show())
    proof = Proofreader(document)
    proof.known_keys((), document.tree, ("set", "version"))
    proof.required((), document.tree, "version")
    is_format(proof, document.tree, "set", SET_FORMAT)
    version = read_line(proof, (), document.tree, "version")
    if mistakes := proof.mistakes():
        raise ShippedFileError(mistakes.show())
    return version


def find_twins(profiles: Iterable[tuple[str, Profile]]) -> Iterator[Mistake]:
    """Profiles of different files that could be taken for each other."""
    owners: dict[object, str] = {}
    for name, profile in profiles:
        for key, what in ((profile.id, "id"), (profile.matches, "matches")):
            owner = owners.setdefault((what, key), name) if key is not None else name
            if owner != name:
                wrong = f"the same {what} as {quote_name(owner)}"
                yield Mistake(file=name, line=0, column=0, key=what, wrong=wrong)


def read_file(path: Path) -> bytes | Mistakes:
    """The bytes of a file, at most one more than is allowed."""
    name = str(path)
    try:
        if path.exists() and not path.is_file():
            return whole_file(name, "not a plain file")
        with path.open("rb") as stream:
            return stream.read(LARGEST_FILE + 1)
    except OSError as failure:
        return whole_file(name, f"cannot be read: {failure.strerror}")
    except ValueError:
        return whole_file(name, "cannot be read: this is no file name")


def profile_files(folder: Path) -> list[Path]:
    """`any-notebook.toml`, `MAKER.toml` and `MAKER/MODEL.toml`; the rest has other purposes."""
    folders = [
        folder,
        *(path for path in folder.iterdir() if not path.suffix and path.name not in OTHER_FOLDERS),
    ]
    return sorted(
        within / name
        for within in folders
        for name in os.listdir(within)  # noqa: PTH208 - names alone, at a third of the time
        if name.endswith(".toml") and name not in OTHER_FILES
    )


def _load_shipped(folder: Path, path: Path) -> Profile:
    profile = parse_profile(path.name, path.read_bytes(), shipped_parent)
    if isinstance(profile, Mistakes):
        raise ShippedFileError(profile.show())
    wanted = path.relative_to(folder).with_suffix("").as_posix()
    if profile.id != wanted:
        raise ShippedFileError(f"{wanted}.toml has the id {profile.id}")
    return profile
