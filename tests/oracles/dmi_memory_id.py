"""What udev's own program reads out of an SMBIOS dump: the properties that it keeps."""

import subprocess
from pathlib import Path
from typing import Final

PROGRAM: Final = Path("/usr/lib/udev/dmi_memory_id")


def reason_to_skip() -> str:
    return "" if PROGRAM.is_file() else "udev is not installed"


def run_dmi_memory_id(dump: Path) -> dict[str, str]:
    """The properties by name; strings keep every byte that it prints."""
    done = subprocess.run(
        [PROGRAM, "--from-dump", str(dump)], capture_output=True, check=True, timeout=30
    )
    lines = done.stdout.decode("utf-8", "replace").splitlines()
    return dict(line.split("=", 1) for line in lines if "=" in line)
