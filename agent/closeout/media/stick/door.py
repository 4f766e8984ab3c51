"""The one way to the stick's files: mounted for the moment that they are needed, and no longer."""

from __future__ import annotations

import os
from collections.abc import Generator
from contextlib import AbstractContextManager, contextmanager
from pathlib import Path
from typing import Final, Protocol

from closeout.decode.fat_tables import decode_table_places, describe_difference
from closeout.media.stick.find import NoStick, Volume, find_stick
from closeout.media.stick.system import READ_ONLY, SAFE, forget_buffers, mount, unmount

SECTOR: Final = 4096
"""Read of a device at least: the largest that a sector is."""
OPTIONS: Final = "utf8=1,umask=0077,errors=remount-ro"
DEVICES: Final = Path("/dev")
PLACE: Final = Path("/run/closeout/stick")


class Door(Protocol):
    """The sticks that are put in, and their files."""

    def find(self, volume_id: str) -> Volume | NoStick:
        """The stick with this id; without an id the one that is labelled as ours."""
        ...

    def opened(self, volume: Volume, *, writable: bool) -> AbstractContextManager[Path]:
        """The folder of its files inside the block; raises OSError, at the end of it too."""
        ...

    def damage(self, volume: Volume) -> str:
        """What is wrong with its tables, empty where nothing is; raises OSError."""
        ...


class LiveDoor:
    """The sticks of the running machine."""

    def find(self, volume_id: str) -> Volume | NoStick:
        """Looked for anew each time: a stick may have been put in since."""
        from closeout.kernel.live import LiveTree  # noqa: PLC0415 - where there is no stick, not

        return find_stick(LiveTree(), read_start, volume_id)

    @contextmanager
    def opened(self, volume: Volume, *, writable: bool) -> Generator[Path]:
        """Mounted while the block lasts; what is read comes from the stick, not out of memory."""
        device = DEVICES / volume.device
        forget_buffers(device)
        PLACE.mkdir(parents=True, exist_ok=True)
        mount(str(device), PLACE, "vfat", SAFE | (0 if writable else READ_ONLY), OPTIONS)
        try:
            yield PLACE
        except BaseException:
            _let_go(PLACE)
            raise
        unmount(PLACE)

    def damage(self, volume: Volume) -> str:
        """The two tables are read off the device and compared."""
        with (DEVICES / volume.device).open("rb", buffering=0) as device:
            tables = decode_table_places(device.read(SECTOR))
            if tables is None or tables.count < 2:  # noqa: PLR2004 - with one there is nothing to compare
                return ""
            device.seek(tables.begin)
            first, second = device.read(tables.size), device.read(tables.size)
        cluster = describe_difference(first, second)
        return "" if cluster is None else f"its two tables differ at cluster {cluster}"


def read_start(name: str) -> bytes:
    """The first sector of a device; raises OSError."""
    handle = os.open(DEVICES / name, os.O_RDONLY | os.O_CLOEXEC)
    try:
        return os.read(handle, SECTOR)
    finally:
        os.close(handle)


def _let_go(place: Path) -> None:
    try:
        unmount(place)
    except OSError:
        return  # the stick is gone; what went wrong before is what is told
