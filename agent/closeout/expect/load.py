"""Profiles and work orders from files: the only place of this package that opens them."""

from collections.abc import Iterable, Iterator
from hashlib import sha256
from pathlib import Path
from typing import Final, TypeVar

from closeout.expect.choose import ANY_NOTEBOOK, choose_profile
from closeout.expect.document import LARGEST_FILE, read_document
from closeout.expect.merge import expectations_of
from closeout.expect.mistake import Mistake, Mistakes, nearest, quote_name, whole_file
from closeout.expect.parts import parts_of
from closeout.expect.profile import Match, Profile, build_profile, parse_profile
from closeout.expect.shipped import ShippedFileError, shipped_folder
from closeout.expect.work_order import WorkOrder, build_work_order, parse_work_order
from closeout.model.repair_map import RepairMap

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
    "parse_profile",
    "parse_work_order",
    "parts_of",
    "shipped_profile_for",
    "shipped_profiles",
]

SUFFIXES: Final = (".toml", ".json")
OTHER_FOLDERS: Final = frozenset(
    {"demo", "examples", "findings", "kernel-log", "parsed", "repairs", "schemas"}
)

Loaded = TypeVar("Loaded")


def load_profile(wanted: str) -> Profile | Mistakes:
    """The profile in a file, or the shipped one with this id.

    What ends in `.toml` or `.json` is a file; anything else is an id.
    """
    if wanted.endswith(SUFFIXES):
        raw = read_file(Path(wanted))
        return raw if isinstance(raw, Mistakes) else parse_profile(wanted, raw)
    profiles = {profile.id: profile for profile in shipped_profiles()}
    if wanted in profiles:
        return profiles[wanted]
    offered = ", ".join(profiles)
    near = nearest(wanted, profiles)
    return whole_file(
        wanted, f"no shipped profile has this id, and no file ends so; allowed: {offered}{near}"
    )


def load_work_order(path: Path) -> WorkOrder | Mistakes:
    """The work order in a file."""
    raw = read_file(path)
    return raw if isinstance(raw, Mistakes) else parse_work_order(str(path), raw)


def shipped_profiles() -> tuple[Profile, ...]:
    """Every profile that ships, by id. Raises `ShippedFileError` where one has a mistake."""
    folder = shipped_folder("profiles")
    profiles = [_load_shipped(folder, path) for path in _profile_files(folder)]
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
    for path in _profile_files(folder):
        document = read_document(path.name, path.read_bytes())
        if not isinstance(document, Mistakes) and document.tree.get("matches") == wanted:
            return _load_shipped(folder, path)
    fallback = folder / f"{ANY_NOTEBOOK}.toml"
    if not fallback.is_file():
        raise ShippedFileError(f"no profile {ANY_NOTEBOOK!r}")
    return _load_shipped(folder, fallback)


def lint_file(path: Path) -> Profile | WorkOrder | RepairMap | Mistakes:
    """What a profile, work order or repair map holds, or every mistake in it."""
    raw = read_file(path)
    return raw if isinstance(raw, Mistakes) else parse_any(str(path), raw)


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


def parse_any(name: str, raw: bytes) -> Profile | WorkOrder | RepairMap | Mistakes:
    """A work order or a repair map where the file says that it is one, a profile otherwise."""
    document = read_document(name, raw)
    if isinstance(document, Mistakes):
        return document
    digest = sha256(raw).hexdigest()
    if "work_order" in document.tree:
        return build_work_order(document, digest)
    if "repair_map" in document.tree:
        from closeout.expect.repair_map import build_repair_map  # noqa: PLC0415 - only to lint it

        return build_repair_map(document, digest)
    return build_profile(document, digest)


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


def _profile_files(folder: Path) -> list[Path]:
    """`any-notebook.toml`, and `MAKER/MODEL.toml`; the other files have other purposes."""
    return sorted(
        path
        for path in (*folder.glob("*.toml"), *folder.glob("*/*.toml"))
        if path.parent.name not in OTHER_FOLDERS
    )


def _load_shipped(folder: Path, path: Path) -> Profile:
    profile = parse_profile(path.name, path.read_bytes())
    if isinstance(profile, Mistakes):
        raise ShippedFileError(profile.show())
    wanted = path.relative_to(folder).with_suffix("").as_posix()
    if profile.id != wanted:
        raise ShippedFileError(f"{wanted}.toml has the id {profile.id}")
    return profile
