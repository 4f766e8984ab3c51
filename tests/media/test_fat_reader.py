"""The reader of FAT volumes: what was put in is found; damage is one line, and never a loop."""

from contextlib import suppress

import pytest
from hypothesis import given
from hypothesis import strategies as st

from closeout.media.fat_reader import Volume, open_volume
from closeout.media.trouble import MediaError
from strategies.fat_volume import RESERVED, SECTOR, build_fat32, read_files

names = st.text(st.characters(min_codepoint=0x61, max_codepoint=0x17F), min_size=1, max_size=30)
paths = st.lists(names, min_size=1, max_size=3).map("/".join)
contents = st.dictionaries(paths, st.binary(max_size=3 * SECTOR), max_size=6)


def opened(raw: bytes) -> Volume:
    return open_volume(lambda at, length: raw[max(0, at) : max(0, at + length)], "volume")


def read_all(raw: bytes) -> dict[str, bytes]:
    return read_files(opened(raw))


@given(contents.filter(lambda files: not _has_file_as_folder(files)))
def test_what_was_put_in_is_read(files: dict[str, bytes]) -> None:
    assert read_all(build_fat32(files)) == files


def _has_file_as_folder(files: dict[str, bytes]) -> bool:
    return any(other.startswith(f"{path}/") for path in files for other in files)


@given(contents.filter(lambda files: not _has_file_as_folder(files)), st.data())
def test_any_change_is_read_or_refused(files: dict[str, bytes], data: st.DataObject) -> None:
    raw = bytearray(build_fat32(files))
    for _ in range(4):
        at = data.draw(st.integers(0, len(raw) - 1))
        raw[at] = data.draw(st.integers(0, 255))
    with suppress(MediaError):  # a folder that was changed may still be one
        read_all(bytes(raw))


@given(st.binary(max_size=3 * SECTOR))
def test_no_volume_is_refused(raw: bytes) -> None:
    with pytest.raises(MediaError, match="holds no FAT32 volume"):
        opened(raw)


def test_number_and_label() -> None:
    volume = opened(build_fat32({}, 0x0C44_8E9B, "CLOSEOUT"))
    assert (volume.number, volume.label) == ("0C44-8E9B", "CLOSEOUT")


def test_clusters_that_lead_in_a_circle() -> None:
    raw = bytearray(build_fat32({"long": bytes(3 * SECTOR)}))
    link = RESERVED * SECTOR + 4 * 4
    raw[link : link + 4] = (3).to_bytes(4, "little")
    assert len(read_all(bytes(raw))["long"]) == 3 * SECTOR  # a file ends with its length
    raw[RESERVED * SECTOR + 2 * 4] = 2
    raw[RESERVED * SECTOR + 2 * 4 + 1 : RESERVED * SECTOR + 3 * 4] = bytes(3)
    at = len(build_fat32({"long": bytes(3 * SECTOR)})) - 12 * SECTOR
    raw[at : at + SECTOR] = b"\xe5" * SECTOR  # the root has no last entry
    with pytest.raises(MediaError, match="damaged"):
        read_all(bytes(raw))


def test_clusters_that_end_too_early() -> None:
    raw = bytearray(build_fat32({"long": bytes(3 * SECTOR)}))
    link = RESERVED * SECTOR + 3 * 4
    raw[link : link + 4] = b"\xff\xff\xff\x0f"
    with pytest.raises(MediaError, match="long: its clusters end 1024 bytes too early"):
        read_all(bytes(raw))
    raw[link : link + 4] = b"\xff\xff\xff\x00"
    with pytest.raises(MediaError, match="which is not there; damaged"):
        read_all(bytes(raw))


def test_folders_in_folders_without_end() -> None:
    raw = build_fat32({"/".join("abcdefghijklmnop"): b"deep"})
    with pytest.raises(MediaError, match="more files or folders"):
        read_all(raw)
