"""A stick as a file: GPT, the FAT partition for people, and one for firmware behind it.

Made by tools of the system (sfdisk, dosfstools, mtools), none of them ours.
"""

import subprocess
from collections.abc import Mapping
from pathlib import Path
from typing import Final

MIB: Final = 1 << 20
BEGIN: Final = MIB
VOLUME_ID: Final = "1A2B-3C4D"
FAT_MIB: Final = 40
TYPES: Final = ("EBD0A0A2-B9E5-4433-87C0-68B6B72699C7", "C12A7328-F81F-11D2-BA4B-00A0C93EC93B")
"""Of the partitions: Microsoft basic data, EFI system (UEFI 2.10, table 5-7)."""


def make_stick(
    image: Path,
    files: Mapping[str, bytes] | None = None,
    *,
    volume_id: str = VOLUME_ID,
    label: str = "CLOSEOUT",
    fat_mib: int = FAT_MIB,
) -> Path:
    """A new image with these files in its FAT partition, and the folders that every stick has."""
    fat = image.with_suffix(".fat")
    with fat.open("wb") as opened:
        opened.truncate(fat_mib * MIB)
    made = ("mkfs.vfat", "-F", "32", "-s", "1", "-n", label, "-i", volume_id.replace("-", ""))
    _run(*made, str(fat))
    for folder in ("orders", "profiles", "agent", "reports"):
        _run("mmd", "-i", str(fat), f"::{folder}")
    for name, content in (files or {}).items():
        put_file(fat, name, content)
    with image.open("wb") as opened:
        opened.truncate((fat_mib + 4) * MIB)
    sectors = fat_mib * MIB // 512
    plan = f"label: gpt\nstart=2048, size={sectors}, type={TYPES[0]}\ntype={TYPES[1]}\n"
    _run("sfdisk", "--quiet", str(image), given=plan.encode())
    with image.open("r+b") as opened:
        opened.seek(BEGIN)
        opened.write(fat.read_bytes())
    fat.unlink()
    return image


def put_file(fat: Path, name: str, content: bytes) -> None:
    """Puts a file into a FAT image, with the folders above it."""
    parts = name.split("/")
    for depth in range(1, len(parts)):
        folder = "/".join(parts[:depth])
        subprocess.run(
            ["mmd", "-i", fat, "-D", "s", f"::{folder}"], check=False, capture_output=True
        )
    source = fat.with_suffix(".one")
    source.write_bytes(content)
    _run("mcopy", "-i", str(fat), "-o", str(source), f"::{name}")
    source.unlink()


def fat_of(image: Path, fat: Path, fat_mib: int = FAT_MIB) -> Path:
    """The FAT partition of an image as a file of its own."""
    with image.open("rb") as opened:
        opened.seek(BEGIN)
        fat.write_bytes(opened.read(fat_mib * MIB))
    return fat


def reports_on(fat: Path, into: Path) -> dict[str, bytes]:
    """Every file in reports/ as mtools reads it; what it cannot read is left out."""
    into.mkdir(parents=True, exist_ok=True)
    for file in into.iterdir():
        file.unlink()
    subprocess.run(
        ["mcopy", "-i", fat, "-n", "::reports/*", into], check=False, capture_output=True
    )
    return {file.name: file.read_bytes() for file in into.iterdir()}


def _run(*command: str, given: bytes | None = None) -> None:
    subprocess.run(command, input=given, check=True, capture_output=True)
