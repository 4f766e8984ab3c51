"""What was built, in a few lines."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Final

from closeout.media.manifest import FILE, Manifest
from closeout.media.shared import PAPER
from closeout.media.trees import INITIAL, KERNEL, ROOT

MIB: Final = 1 << 20


def summary(manifest: Manifest, out: Path) -> Iterator[str]:
    """What is in the image, how large it is, and its digest."""
    packages = [one for one in manifest["packages"] if one["part"] not in {"tools", PAPER}]
    makers = [
        f"{one['name']} {one['version']}" for one in manifest["packages"] if one["part"] == PAPER
    ]
    image, start = manifest["image"], manifest["boot"]
    yield f"kernel {manifest['kernel']}, {len(packages)} packages"
    yield str(manifest["firmware"])
    yield f"documents by {' and '.join(makers)}" if makers else "without documents"
    loaded = sum(start[name]["size"] for name in (KERNEL, INITIAL, ROOT))
    yield f"image: {out / image['file']}, {_mib(image['size'])}, SHA-256 {image['sha256']}"
    yield f"loaded into memory at the start: {_mib(loaded)}"
    yield f"files for a network start: {out / 'netboot'}"
    yield f"packages, licences and digests: {out / FILE}"


def _mib(size: int) -> str:
    return f"{size / MIB:.0f} MiB"
