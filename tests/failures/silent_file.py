"""A filesystem in user space with one file, whose read is never answered.

    python silent_file.py FOLDER

Mounted at FOLDER until it is killed. A reader of `FOLDER/silent` sleeps in the kernel where not
even SIGKILL reaches it (fs/fuse/dev.c: a request that user space has taken is waited for).
"""

import stat
import sys
import time

import mfusepy

ROOT = {"st_mode": stat.S_IFDIR | 0o755, "st_nlink": 2}
SILENT = {"st_mode": stat.S_IFREG | 0o444, "st_nlink": 1, "st_size": 4096}


class SilentFile(mfusepy.Operations):
    """The root, and `silent` in it."""

    use_ns = True

    def getattr(self, path: str, fh: int | None = None) -> dict[str, int]:
        """Root and file are there."""
        return ROOT if path == "/" else SILENT

    def read(self, path: str, size: int, offset: int, fh: int) -> bytes:
        """Never returns."""
        while True:
            time.sleep(3600)


if __name__ == "__main__":
    mfusepy.FUSE(SilentFile(), sys.argv[1], foreground=True, nothreads=False, direct_io=True)
