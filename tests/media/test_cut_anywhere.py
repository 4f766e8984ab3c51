"""Reports written through the kernel to a stick that is pulled after every single sector.

The emulator notes each write in its order; the stick is then made again here as it was after each
of them, and looked at as whoever puts it into a desktop would.
"""

import subprocess
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Final

import pytest

from closeout.decode.failure import DecodeError
from closeout.decode.report_file import CutShortError, decode_report_file
from closeout.media.report_file import pack_report
from media.desk_reader import DeskReader
from media.stick_boot import Setup, started_from_stick, stick_arguments
from media.stick_image import BEGIN, FAT_MIB, MIB, VOLUME_ID, fat_of, make_stick, reports_on
from media.write_log import SECTOR, count_entries, sectors_written
from notebook.description import load_notebook
from notebook.image import Image

pytestmark = [pytest.mark.notebook, pytest.mark.slow, pytest.mark.xdist_group("stick-cut")]

SIZES: Final = (100, 700, 9_000, 40_000, 513, 1)
"""Of what is in the reports that follow that of the check, in bytes that do not shrink."""
KEEP: Final = """
import sys
from closeout.media.stick.door import LiveDoor
from closeout.media.stick.keep import keep_report
door = LiveDoor()
raw = open("/run/one", "rb").read()
print(keep_report(raw, sys.argv[1], door.find(sys.argv[2]), door))
"""
LOOKED_AT_BY_FSCK: Final = 40
"""Every so many cuts a tool of the system looks too: it takes longer than all the rest."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Written:
    """What a run left: the stick before it, the log, and when each report was called kept."""

    before: bytes
    after: bytes
    log: Path
    kept: Mapping[str, tuple[int, bytes]]
    """By its name: the entries of the log by then, and what is in it."""


@pytest.fixture(scope="module")
def written(image: Image, tmp_path_factory: pytest.TempPathFactory) -> Written:
    """A whole check, and reports of many sizes behind it."""
    folder = tmp_path_factory.mktemp("cut")
    stick, log = make_stick(folder / "stick.img"), folder / "log"
    before = stick.read_bytes()
    kept: dict[str, tuple[int, bytes]] = {}
    setup = Setup(
        kernel_options=f"closeout.stick={VOLUME_ID}", arguments=stick_arguments(stick, log)
    )
    with started_from_stick(load_notebook("osier-15"), image, setup) as run:
        run.check()
        run.console.wait_for("Kept on the stick 1A2B-3C4D: reports/")
        run.console.wait_for("What now? ")
        first = count_entries(log)
        (name, raw), *_ = reports_on(fat_of(stick, folder / "fat"), folder / "out").items()
        kept[name] = (first, raw)
        for number, size in enumerate(SIZES):
            stem = f"T-{number}-attempt-0001-3fa2c1d9"
            raw = pack_report({f"T-{number}/attempt-0001-3fa2c1d9/a.json": _noise(size)})
            run.session.write("/run/one", raw)
            command = ("env", "PYTHONPATH=/usr/lib/closeout/agent", "python3", "-c", KEEP)
            ran = run.session.run(*command, stem, VOLUME_ID)
            assert ran.text.strip() == f"{stem}.zip", ran
            kept[f"{stem}.zip"] = (count_entries(log), raw)
    return Written(before=before, after=stick.read_bytes(), log=log, kept=kept)


def _noise(size: int) -> bytes:
    """Bytes that do not shrink, the same each time."""
    state, noise = 1, bytearray()
    for _ in range(size):
        state = state * 1103515245 + 12345 & 0x7FFFFFFF
        noise.append(state >> 16 & 0xFF)
    return bytes(noise)


def test_the_log_is_the_whole_truth(written: Written) -> None:
    """Replayed to its end it gives the very stick that the emulator left."""
    image = bytearray(written.before)
    for write in sectors_written(written.log):
        image[write.number * SECTOR : (write.number + 1) * SECTOR] = write.content
    assert image == written.after


def test_after_every_cut_each_report_is_absent_cut_short_or_intact(
    written: Written, tmp_path: Path, record_property: Callable[[str, object], None]
) -> None:
    """And one that was called kept is intact in every cut from then on."""
    image, cuts, states = (
        bytearray(written.before),
        0,
        dict.fromkeys(("absent", "cut", "intact"), 0),
    )
    fat = tmp_path / "fat"
    for write in sectors_written(written.log):
        image[write.number * SECTOR : (write.number + 1) * SECTOR] = write.content
        cuts += 1
        found = DeskReader(image, BEGIN).files("reports")
        for name, (kept_at, raw) in written.kept.items():
            state = _state(found.get(name), raw)
            if write.entry >= kept_at:
                assert state == "intact", (write.entry, name)
            states[state] += 1
        if cuts % LOOKED_AT_BY_FSCK == 0:
            fat.write_bytes(image[BEGIN : BEGIN + FAT_MIB * MIB])
            checked = subprocess.run(["fsck.vfat", "-n", fat], check=False, capture_output=True)
            assert checked.returncode in {0, 1}, checked.stdout
    record_property("cuts", f"{cuts}: {states}")
    assert cuts > 200
    assert min(states.values()) > 0


def _state(found: bytes | None, raw: bytes) -> str:
    """What a report is after a cut; one that is taken for whole and is not fails the test."""
    if found is None:
        return "absent"
    try:
        decode_report_file(found)
    except CutShortError:
        return "cut"
    except DecodeError as error:
        raise AssertionError(f"neither cut nor whole: {error}") from error
    assert found == raw
    return "intact"


def test_at_the_end_another_reader_finds_the_same(written: Written, tmp_path: Path) -> None:
    """mtools, and fsck.vfat without a complaint."""
    (tmp_path / "stick.img").write_bytes(written.after)
    fat = fat_of(tmp_path / "stick.img", tmp_path / "fat")
    assert reports_on(fat, tmp_path / "out") == {
        name: raw for name, (_, raw) in written.kept.items()
    }
    assert subprocess.run(["fsck.vfat", "-n", fat], check=False).returncode == 0
