"""Sticks that are folders: put in, pulled, full, write-protected or damaged as a test says."""

import errno
import os
from collections.abc import Generator
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path

from closeout.media.stick.find import NoStick, Volume


@dataclass(slots=True)
class FolderDoor:
    """`sticks` are those that are in, by their volume id; the folder holds their files."""

    folder: Path
    sticks: list[str] = field(default_factory=lambda: ["1A2B-3C4D"])
    errors: dict[bool, int] = field(default_factory=dict)
    """The errno with which it cannot be opened, for writing (True) or reading (False)."""
    tables: str = ""
    spoils: bool = False
    pulled_after: int = -1
    opened_for_writing: int = 0

    def find(self, volume_id: str) -> Volume | NoStick:
        """The stick, by its id or as the only one."""
        named = [one for one in self.sticks if volume_id in {"", one}]
        if len(named) != 1:
            return NoStick(why=f"the stick {volume_id} is not there: put it in")
        return Volume(device=f"sd{named[0][0].lower()}1", volume_id=named[0], label="CLOSEOUT")

    @contextmanager
    def opened(self, volume: Volume, *, writable: bool) -> Generator[Path]:
        """Its folder; what was spoiled is so once it was closed."""
        if volume.volume_id not in self.sticks:
            raise OSError(errno.ENODEV, os.strerror(errno.ENODEV))
        if writable in self.errors:
            raise OSError(self.errors[writable], os.strerror(self.errors[writable]))
        self.opened_for_writing += writable
        place = self.folder / volume.volume_id
        place.mkdir(parents=True, exist_ok=True)
        yield place
        if writable and self.pulled_after == self.opened_for_writing:
            self.sticks.remove(volume.volume_id)
            raise OSError(errno.EIO, os.strerror(errno.EIO))
        if writable and self.spoils:
            newest = max((place / "reports").iterdir(), key=lambda file: file.stat().st_mtime_ns)
            newest.write_bytes(newest.read_bytes()[:-1] + b"?")

    def damage(self, volume: Volume) -> str:  # noqa: ARG002 - as the live one
        """What the test says of its tables."""
        return self.tables

    def files(self, volume_id: str = "1A2B-3C4D") -> dict[str, bytes]:
        """The reports on a stick, by their names."""
        folder = self.folder / volume_id / "reports"
        return (
            {file.name: file.read_bytes() for file in folder.iterdir()} if folder.exists() else {}
        )
