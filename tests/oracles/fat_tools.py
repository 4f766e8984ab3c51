"""The tools of the system that make and read the disks and sticks of the tests."""

import shutil
from typing import Final

TOOLS: Final = ("blkid", "fsck.vfat", "mcopy", "mkfs.ext4", "mkfs.vfat", "mkswap", "mmd", "sfdisk")


def reason_to_skip() -> str:
    missing = [tool for tool in TOOLS if shutil.which(tool) is None]
    return f"not installed: {', '.join(missing)}" if missing else ""
