"""The manifest of a stick: every package, every file that starts it, and their digests."""

from __future__ import annotations

import json
from collections.abc import Mapping
from pathlib import Path
from typing import Any, Final

from closeout import VERSION
from closeout.media.agent_files import agent_digest
from closeout.media.licences import licences_of
from closeout.media.lock import Lock, digest_of
from closeout.media.partitions import Partition
from closeout.media.recipe import FIRMWARE
from closeout.media.shared import PAPER
from closeout.media.trouble import MediaError
from closeout.media.wheels import LICENCES

FORMAT: Final = 1
FORMAT_KEY: Final = "closeout_media_manifest"
FILE: Final = "manifest.json"
MOST_BYTES: Final = 4 << 20
WITH_FIRMWARE: Final = (
    "with firmware that is not free software, from the archive's component non-free-firmware"
)
WITHOUT_FIRMWARE: Final = (
    "without firmware: wireless, some graphics, sound and sensors show no driver (uncovered)"
)
PARTS: Final = {
    "boot": "starts the unit",
    PAPER: "makes documents; in the folder of that name, read when a report was kept",
    "system": "runs in the unit's memory",
    "tools": "used to build; nothing of it is in the image",
}

Manifest = dict[str, Any]


def contents(lock: Lock, root: Path, release: str) -> Manifest:
    """What is in a root: packages with their licences, kernel and agent."""
    packages = [
        {
            "name": package.name,
            "version": package.version,
            "file": package.file,
            "sha256": package.sha256,
            "part": part,
            "licences": list(_licences(root, part, package.name)),
        }
        for part, found in sorted(lock.parts.items())
        for package in found
    ]
    has_firmware = any(package["name"] in FIRMWARE for package in packages)
    return {
        FORMAT_KEY: FORMAT,
        "agent": {"version": VERSION, "sha256": agent_digest(root)},
        "kernel": release,
        "firmware": WITH_FIRMWARE if has_firmware else WITHOUT_FIRMWARE,
        "parts": PARTS,
        "packages": packages,
    }


def _licences(root: Path, part: str, name: str) -> tuple[str, ...]:
    if part == PAPER:
        return LICENCES[name]
    return licences_of(root, name) if part != "tools" else ()


def described_file(file: Path | bytes, digest: str) -> Manifest:
    """Size and digest of one file."""
    size = len(file) if isinstance(file, bytes) else file.stat().st_size
    return {"size": size, "sha256": digest}


def described(files: Mapping[str, Path]) -> Manifest:
    """Size and digest of files, by their names."""
    return {name: described_file(file, digest_of(file)) for name, file in sorted(files.items())}


def described_partition(partition: Partition) -> Manifest:
    """A partition as the manifest names it."""
    return {
        "name": partition.name,
        "type": str(partition.kind),
        "id": str(partition.id),
        "first": partition.first,
        "sectors": partition.sectors,
    }


def as_text(manifest: Manifest) -> str:
    """The manifest as it is written."""
    return json.dumps(manifest, indent=1, sort_keys=True, ensure_ascii=False) + "\n"


def _is_table(told: object) -> bool:
    return isinstance(told, dict)


def read_manifest(raw: bytes, name: str) -> Manifest:
    """A manifest out of its bytes; raises MediaError."""
    try:
        manifest: Manifest = json.loads(raw)
        if not _is_table(manifest) or FORMAT_KEY not in manifest:
            raise MediaError(f"{name}: no manifest of a stick")
    except ValueError as error:
        raise MediaError(f"{name}: no manifest of a stick: {error}") from error
    if manifest[FORMAT_KEY] != FORMAT:
        raise MediaError(
            f"{name}: a manifest of another version; verify with the closeout it names"
        )
    return manifest
