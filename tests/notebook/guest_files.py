"""The files that a guest gets beside the image: its first program, the plan, the panel's EDID."""

import json
import shutil
from pathlib import Path
from typing import Final

from notebook.archive import pack_all
from notebook.description import Notebook
from notebook.emulator import PANEL_FILE
from notebook.firmware_tables import panel_edid
from notebook.guest_plan import guest_plan

IN_GUEST: Final = Path(__file__).parent / "in_guest"
PROGRAMS: Final = "usr/lib/notebook"
USER: Final = "technician"
ACCOUNTS: Final = f"""root:x:0:0:root:/root:/bin/sh
{USER}:x:1000:1000::/srv/{USER}:/bin/sh
nobody:x:65534:65534:nobody:/nonexistent:/usr/sbin/nologin
"""


def pack_guest_files(notebook: Notebook, folder: Path) -> Path:
    """The archive that follows the image's own in the initial RAM file system."""
    archive = folder / "guest-files.cpio"
    tree = folder / "guest-files"
    shutil.rmtree(tree, ignore_errors=True)
    _lay_out(notebook, tree)
    pack_all(tree, archive)
    return archive


def _lay_out(notebook: Notebook, tree: Path) -> None:
    programs = tree / PROGRAMS
    shutil.copytree(IN_GUEST, programs, ignore=shutil.ignore_patterns("__pycache__", "init"))
    shutil.copyfile(IN_GUEST / "init", tree / "init")
    (tree / "init").chmod(0o755)
    etc = tree / "etc"
    etc.mkdir()
    (etc / "notebook.json").write_text(json.dumps(guest_plan(notebook)), "utf-8")
    (etc / "hostname").write_text("unit\n", "utf-8")
    (etc / "passwd").write_text(ACCOUNTS, "utf-8")
    if notebook.panel and notebook.panel.connected:
        edid = tree / "usr/lib/firmware" / PANEL_FILE
        edid.parent.mkdir(parents=True)
        edid.write_bytes(panel_edid(notebook.panel))
