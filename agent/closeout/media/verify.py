"""Whether an image, a stick or a build is what its manifest says; nothing is written."""

from __future__ import annotations

import hashlib
import os
from collections.abc import Callable, Iterable, Iterator, Mapping
from pathlib import Path
from typing import BinaryIO, Final

from closeout.media.fat_reader import File, Volume, content_of_file, files_in, open_volume
from closeout.media.lock import digest_of
from closeout.media.manifest import FILE, MOST_BYTES, Manifest, described_partition, read_manifest
from closeout.media.partitions import (
    BIOS_LOADER,
    DESKTOP_FILES,
    FIRST_USABLE,
    SECTOR,
    UEFI_FILES,
    Partition,
    TableError,
    read_partitions,
)
from closeout.media.trouble import MediaError
from closeout.model.frozen import frozen

BUFFER: Final = 1 << 20


@frozen
class Remark:
    """What is said of one thing: as the manifest says, otherwise, or not judged."""

    subject: str
    told: str
    is_wrong: bool = False


def verify(target: Path, manifest_file: Path | None) -> Iterator[Remark]:
    """Says file by file what was found; raises MediaError where nothing can be said."""
    if target.is_dir():
        yield from _verify_folder(target, manifest_file)
        return
    try:
        with target.open("rb") as stick:
            yield from _verify_stick(stick, target, manifest_file)
    except OSError as error:
        wrong = f"{target}: cannot be read: {error.strerror}; check path and rights"
        raise MediaError(wrong) from error


def _verify_folder(folder: Path, manifest_file: Path | None) -> Iterator[Remark]:
    """A build's folder: the image with all that is in it, and the files for the network."""
    manifest = _load(manifest_file or folder / FILE)
    netboot: Mapping[str, Manifest] = manifest.get("netboot", {})
    for name, wanted in netboot.items():
        yield _compared(f"netboot/{name}", folder / "netboot" / name, wanted)
    image = folder / str(manifest.get("image", {}).get("file", ""))
    if not image.is_file():
        raise MediaError(f"{image}: is missing, and the manifest names it")
    with image.open("rb") as stick:
        yield from _verify_stick(stick, image, manifest_file or folder / FILE)


def _verify_stick(stick: BinaryIO, target: Path, manifest_file: Path | None) -> Iterator[Remark]:
    size = stick.seek(0, os.SEEK_END)
    begin = _read(stick, 0, FIRST_USABLE * SECTOR)
    try:
        _, partitions = read_partitions(begin, size // SECTOR)
    except TableError as error:
        raise MediaError(f"{target}: {error}") from error
    by_kind = {partition.kind: partition for partition in partitions}
    if not {DESKTOP_FILES, UEFI_FILES} <= set(by_kind):
        raise MediaError(f"{target}: not a stick of ours: the two volumes are not there")
    boot = _volume(stick, by_kind[UEFI_FILES], f"{target}, partition 2")
    manifest = _manifest_for(boot, target, manifest_file)
    yield from _tables_remarks(partitions, manifest)
    yield from _loader_remarks(stick, by_kind.get(BIOS_LOADER), manifest)
    yield from _boot_remarks(boot, manifest)
    shared = _volume(stick, by_kind[DESKTOP_FILES], f"{target}, partition 1")
    number = manifest.get("volumes", {}).get("shared")
    otherwise = f"has another number than {number}, which the kernel is told to look for"
    yield _remark("partition 1", is_right=shared.number == number, otherwise=otherwise)
    yield from _shared_remarks(shared, manifest)
    yield from _image_remarks(stick, size, manifest)


def _manifest_for(boot: Volume, target: Path, manifest_file: Path | None) -> Manifest:
    """The manifest that was named, the one beside the image, or the stick's own."""
    beside = target.with_name(FILE)
    if manifest_file is not None:
        return _load(manifest_file)
    if target.is_file() and beside.is_file():
        return _load(beside)
    for file in files_in(boot):
        if file.path == FILE and file.size <= MOST_BYTES:
            return read_manifest(b"".join(content_of_file(boot, file)), f"{target}: {FILE}")
    raise MediaError(f"{target}: holds no {FILE}; name one with --manifest")


def _tables_remarks(partitions: Iterable[Partition], manifest: Manifest) -> Iterator[Remark]:
    wanted = manifest.get("partitions")
    if wanted is None:
        yield Remark(subject="manifest", told="the stick's own, so whoever changed it could too")
        return
    found = [described_partition(partition) for partition in partitions]
    yield _remark("partition table", is_right=found == wanted, otherwise="other partitions")


def _loader_remarks(
    stick: BinaryIO, partition: Partition | None, manifest: Manifest
) -> Iterator[Remark]:
    places = {"start": 0, "second": partition.offset if partition else 0}
    for name, wanted in manifest.get("loader", {}).items():
        found = hashlib.sha256(_read(stick, places[name], wanted["size"])).hexdigest()
        subject = f"loader for BIOS, {name} part"
        yield _remark(subject, is_right=found == wanted["sha256"], otherwise=_differs(found))


def _shared_remarks(shared: Volume, manifest: Manifest) -> Iterator[Remark]:
    """What makes documents is what was built, or not there; all else is its users'."""
    return _files_remarks(
        "partition 1",
        shared,
        manifest.get("paper", {}),
        lambda subject: Remark(subject=subject, told="may change; not judged"),
        lambda subject: Remark(subject=subject, told="is missing: no documents are made"),
    )


def _boot_remarks(boot: Volume, manifest: Manifest) -> Iterator[Remark]:
    """What starts a unit is what was built, and all of it; a manifest cannot name itself."""
    place = "partition 2"

    def judge_other(subject: str) -> Remark:
        if subject == f"{place}, {FILE}":
            return Remark(subject=subject, told="names the others; not judged")
        return Remark(subject=subject, told="is not in the manifest", is_wrong=True)

    return _files_remarks(
        place,
        boot,
        manifest.get("boot", {}),
        judge_other,
        lambda subject: Remark(subject=subject, told="is missing", is_wrong=True),
    )


def _files_remarks(
    place: str,
    volume: Volume,
    wanted: Mapping[str, Manifest],
    judge_other: Callable[[str], Remark],
    judge_missing: Callable[[str], Remark],
) -> Iterator[Remark]:
    """Each file of a volume, held against the manifest if that names it; then what is missing."""
    missing = dict(wanted)
    for file in files_in(volume):
        subject = f"{place}, {file.path}"
        told = missing.pop(file.path, None)
        yield judge_other(subject) if told is None else _held_against(told, volume, file, subject)
    for path in missing:
        yield judge_missing(f"{place}, {path}")


def _held_against(wanted: Manifest, volume: Volume, file: File, subject: str) -> Remark:
    digest = hashlib.sha256()
    for piece in content_of_file(volume, file):
        digest.update(piece)
    is_right = digest.hexdigest() == wanted["sha256"] and file.size == wanted["size"]
    return _remark(subject, is_right=is_right, otherwise=_differs(digest.hexdigest()))


def _image_remarks(stick: BinaryIO, size: int, manifest: Manifest) -> Iterator[Remark]:
    """The image as a whole; once something was written to the first partition it differs."""
    wanted = manifest.get("image")
    if wanted is None or wanted["size"] != size:
        return
    digest = hashlib.sha256()
    for at in range(0, size, BUFFER):
        digest.update(_read(stick, at, BUFFER))
    found = digest.hexdigest()
    same = "as it was built" if found == wanted["sha256"] else "written to since it was built"
    yield Remark(subject="image as a whole", told=f"{same} (SHA-256 {found})")


def _compared(subject: str, file: Path, wanted: Manifest) -> Remark:
    if not file.is_file():
        return Remark(subject=subject, told="is missing", is_wrong=True)
    found = digest_of(file)
    return _remark(subject, is_right=found == wanted["sha256"], otherwise=_differs(found))


def _remark(subject: str, *, is_right: bool, otherwise: str) -> Remark:
    told = "as the manifest says" if is_right else otherwise
    return Remark(subject=subject, told=told, is_wrong=not is_right)


def _differs(digest: str) -> str:
    return f"is not what the manifest says (its SHA-256 is {digest})"


def _volume(stick: BinaryIO, partition: Partition, name: str) -> Volume:
    def read_at(at: int, length: int) -> bytes:
        return _read(stick, partition.offset + at, min(length, partition.size - at))

    return open_volume(read_at, name)


def _read(stick: BinaryIO, at: int, length: int) -> bytes:
    stick.seek(at)
    return stick.read(max(0, length))


def _load(file: Path) -> Manifest:
    try:
        with file.open("rb") as stream:
            return read_manifest(stream.read(MOST_BYTES), str(file))
    except OSError as error:
        wrong = f"{file}: cannot be read: {error.strerror}; name one with --manifest"
        raise MediaError(wrong) from error
