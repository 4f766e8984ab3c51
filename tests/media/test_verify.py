"""`closeout media verify`: what was changed is named, and nothing is written."""

import json
from pathlib import Path
from typing import Any

import pytest

from closeout.media.partitions import SECTOR
from media.played_programs import WHEELS
from strategies.surroundings import Told, call_in

SHARED, BOOT, LOADER = range(3)


def verify(stick: Path, *more: object, target: str = "closeout-stick.img") -> Told:
    return call_in(stick, "media", "verify", target, *more)


def change(image: Path, at: int) -> None:
    """Turns over one bit."""
    with image.open("r+b") as stream:
        stream.seek(at)
        byte = stream.read(1)[0]
        stream.seek(at)
        stream.write(bytes([byte ^ 1]))


def find(image: Path, content: bytes) -> int:
    at = image.read_bytes().find(content)
    assert at > 0
    return at


@pytest.fixture
def image(stick: Path) -> Path:
    """Its image."""
    return stick / "closeout-stick.img"


def begin_of(manifest: dict[str, Any], number: int) -> int:
    return int(manifest["partitions"][number]["first"]) * SECTOR


def test_a_stick_as_it_was_built(stick: Path, image: Path) -> None:
    before = image.read_bytes()
    told = verify(stick)
    assert (told.code, told.err) == (0, "")
    assert "partition 2, vmlinuz: as the manifest says" in told.out
    assert "partition 1, README.txt: may change; not judged" in told.out
    assert "image as a whole: as it was built" in told.out
    assert image.read_bytes() == before


def test_the_folder_of_a_build(stick: Path) -> None:
    told = call_in(stick, "media", "verify", stick)
    assert told.code == 0
    assert "netboot/vmlinuz: as the manifest says" in told.out
    assert "partition 2, vmlinuz: as the manifest says" in told.out
    (stick / "netboot/vmlinuz").write_bytes(b"kernel?")
    (stick / "netboot/initrd").unlink()
    told = call_in(stick, "media", "verify", stick)
    assert told.code == 2
    assert "netboot/vmlinuz: is not what the manifest says" in told.err
    assert "netboot/initrd: is missing" in told.err
    (stick / "closeout-stick.img").unlink()
    assert "is missing, and the manifest names it" in call_in(stick, "media", "verify", stick).err


@pytest.mark.parametrize(
    ("content", "named"),
    [
        (b"kernel\0\0", "partition 2, vmlinuz"),
        (b"second loader", "partition 2, EFI/BOOT/grubx64.efi"),
        (b"set default=0", "partition 2, EFI/debian/grub.cfg"),
    ],
)
def test_one_changed_bit_names_its_file(
    stick: Path, image: Path, content: bytes, named: str, manifest: dict[str, Any]
) -> None:
    boot = begin_of(manifest, BOOT)
    at = image.read_bytes().find(content, boot)
    change(image, at)
    told = verify(stick)
    assert told.code == 2
    changed = [line for line in told.err.splitlines() if "is not what" in line]
    assert len(changed) == 1
    assert named in changed[0]
    assert "written to since it was built" in told.out


def test_the_loader_for_bios(stick: Path, image: Path, manifest: dict[str, Any]) -> None:
    change(image, begin_of(manifest, LOADER) + 700)
    assert "loader for BIOS, second part: is not what" in verify(stick).err
    change(image, 100)
    assert "loader for BIOS, start part: is not what" in verify(stick).err


def test_what_is_in_partition_1_may_change(
    stick: Path, image: Path, manifest: dict[str, Any]
) -> None:
    change(image, find(image, b"This stick starts"))
    told = verify(stick)
    assert told.code == 0
    change(image, begin_of(manifest, SHARED) + 67)
    assert "partition 1: has another number than" in verify(stick).err


def test_what_makes_documents_is_held_against_the_manifest(
    stick: Path, image: Path, manifest: dict[str, Any]
) -> None:
    wheel, *_ = WHEELS
    assert f"partition 1, paper/{wheel.file}: as the manifest says" in verify(stick).out
    manifest["paper"]["paper/more.whl"] = {"size": 1, "sha256": "0"}
    other = stick / "other.json"
    other.write_text(json.dumps(manifest))
    told = verify(stick, "--manifest", other)
    assert told.code == 0
    assert "partition 1, paper/more.whl: is missing: no documents are made" in told.out
    change(image, find(image, WHEELS[wheel]))
    told = verify(stick)
    assert told.code == 2
    assert f"partition 1, paper/{wheel.file}: is not what the manifest says" in told.err


def test_files_that_nobody_named_and_files_that_are_missing(
    stick: Path, manifest: dict[str, Any]
) -> None:
    del manifest["boot"]["initrd"]
    manifest["boot"]["more"] = {"size": 1, "sha256": "0"}
    manifest["partitions"][0]["name"] = "another"
    other = stick / "other.json"
    other.write_text(json.dumps(manifest))
    told = verify(stick, "--manifest", other)
    assert told.code == 2
    assert "partition 2, initrd: is not in the manifest" in told.err
    assert "partition 2, more: is missing" in told.err
    assert "partition table: other partitions" in told.err


def test_a_stick_without_its_manifest_has_its_own(stick: Path, image: Path) -> None:
    (stick / "manifest.json").unlink()
    told = verify(stick)
    assert told.code == 0
    assert "the stick's own, so whoever changed it could too" in told.out
    assert "partition 2, vmlinuz: as the manifest says" in told.out
    raw = image.read_bytes()
    image.write_bytes(raw.replace("manifest.json".encode("utf-16-le")[:10], b"n\0a\0n\0i\0f\0"))
    assert "holds no manifest.json; name one with --manifest" in verify(stick).err


@pytest.mark.parametrize(
    ("at", "said"),
    [
        (SECTOR, "does not begin with EFI PART"),
        (SECTOR + 60, "header is damaged"),
        (2 * SECTOR + 3, "partition table is damaged"),
    ],
)
def test_a_damaged_table_is_one_line(stick: Path, image: Path, at: int, said: str) -> None:
    change(image, at)
    told = verify(stick)
    assert told.code == 2
    assert told.err.count("\n") == 1
    assert said in told.err


def test_a_damaged_volume_is_one_line(stick: Path, image: Path, manifest: dict[str, Any]) -> None:
    for at, said in ((82, "holds no FAT32 volume"), (11, "no sectors or tables as FAT has them")):
        change(image, begin_of(manifest, BOOT) + at)
        told = verify(stick)
        assert told.code == 2
        assert told.err.count("\n") == 1
        assert said in told.err
        change(image, begin_of(manifest, BOOT) + at)


def test_an_image_cut_short(stick: Path, image: Path) -> None:
    whole = image.read_bytes()
    image.write_bytes(whole[: len(whole) // 3])
    told = verify(stick)
    assert told.code == 2
    assert told.err.count("\n") == 1
    assert "cut short" in told.err
    image.write_bytes(whole[:-SECTOR])
    assert "cut short" in verify(stick).err
    image.write_bytes(whole[:700])
    assert "no partition table" in verify(stick).err


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("{", "no manifest of a stick"),
        ("[1]", "no manifest of a stick"),
        ('{"closeout_media_manifest": 7}', "another version"),
    ],
)
def test_a_manifest_that_is_none(stick: Path, text: str, said: str) -> None:
    (stick / "manifest.json").write_text(text)
    told = verify(stick)
    assert told.code == 2
    assert said in told.err


def test_nothing_to_read(stick: Path) -> None:
    assert "cannot be read: No such file" in verify(stick, target="gone.img").err
    told = verify(stick, "--manifest", stick / "gone.json")
    assert "gone.json: cannot be read: No such file" in told.err
