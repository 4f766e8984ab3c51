"""FAT's first sector and its tables: compared with what the system's tools make."""

import subprocess
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from closeout.decode.failure import DecodeError
from closeout.decode.fat_boot import FatVolume, decode_fat_boot
from closeout.decode.fat_tables import Tables, decode_table_places, describe_difference
from oracles import fat_tools

NEEDS_TOOLS = pytest.mark.skipif(
    bool(fat_tools.reason_to_skip()), reason=fat_tools.reason_to_skip()
)

FREE, LAST = 0, 0x0FFF_FFFF
MADE = (("32", 64), ("16", 32), ("12", 2))


def made(folder: Path, bits: str, mib: int, label: str = "CLOSEOUT") -> bytes:
    """The first sectors of a file system that mkfs.vfat made."""
    file = folder / "volume"
    with file.open("wb") as opened:
        opened.truncate(mib << 20)
    command = ("mkfs.vfat", "-F", bits, "-n", label, "-i", "1a2b3c4d", file)
    subprocess.run(command, check=True, capture_output=True)
    return file.read_bytes()


@NEEDS_TOOLS
@pytest.mark.oracle
@pytest.mark.parametrize(("bits", "mib"), MADE)
@pytest.mark.parametrize("label", ["CLOSEOUT", "A", "ELEVEN CHAR"])
def test_what_dosfstools_made(tmp_path: Path, bits: str, mib: int, label: str) -> None:
    volume = decode_fat_boot(made(tmp_path, bits, mib, label))
    assert volume == FatVolume(volume_id="1A2B-3C4D", label=label)


@NEEDS_TOOLS
@pytest.mark.oracle
@pytest.mark.parametrize(("bits", "mib"), MADE)
def test_where_the_tables_are(tmp_path: Path, bits: str, mib: int) -> None:
    raw = made(tmp_path, bits, mib)
    tables = decode_table_places(raw)
    if bits != "32":
        assert tables is None
        return
    assert isinstance(tables, Tables)
    assert tables.count == 2
    first, second = (
        raw[tables.begin + at * tables.size :][: tables.size] for at in range(tables.count)
    )
    assert first == second
    assert first[:4] == b"\xf8\xff\xff\x0f"


@given(st.binary(max_size=600))
def test_any_bytes_give_an_object_or_one_error(raw: bytes) -> None:
    for decode in (decode_fat_boot, decode_table_places):
        try:
            decode(raw)
        except DecodeError:
            continue


def test_other_file_systems_are_refused() -> None:
    for raw in (bytes(512), b"\0" * 510 + b"\x55\xaa", b"short"):
        with pytest.raises(DecodeError):
            decode_fat_boot(raw)
    raw = bytearray(512)
    raw[11:13], raw[16], raw[510:512] = b"\0\2", 2, b"\x55\xaa"
    with pytest.raises(DecodeError, match="no record of a volume"):
        decode_fat_boot(bytes(raw))
    with pytest.raises(DecodeError, match="a table of"):
        decode_table_places(bytes(512))


def table(*entries: int) -> bytes:
    reserved = (0x0FFF_FFF8, LAST)
    return b"".join(entry.to_bytes(4, "little") for entry in (*reserved, *entries))


@pytest.mark.parametrize(
    ("first", "second", "cluster"),
    [
        ((3, LAST), (3, LAST), None),
        ((3, LAST), (FREE, FREE), None),  # stopped before the second was written
        ((3, LAST), (3, FREE), None),
        ((3, LAST), (LAST, FREE), None),  # a folder that grew
        ((FREE, LAST), (3, LAST), 2),  # lost: who writes next writes over it
        ((3, FREE), (3, LAST), 3),
        ((3, 7), (3, 9), 3),
    ],
)
def test_what_a_stopped_write_leaves_is_no_damage(
    first: tuple[int, ...], second: tuple[int, ...], cluster: int | None
) -> None:
    assert describe_difference(table(*first), table(*second)) == cluster


def test_the_dirty_bits_are_no_damage() -> None:
    clean, dirty = table(LAST), bytearray(table(LAST))
    dirty[7] ^= 0x08
    assert describe_difference(bytes(dirty), clean) is None
