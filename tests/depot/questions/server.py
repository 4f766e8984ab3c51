"""A real PostgreSQL server in a folder of its own, reached by its socket alone."""

import os
import pwd
import shutil
import subprocess
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Final

PROGRAMS: Final = Path("/usr/lib/postgresql")
USER: Final = "postgres"
SETTINGS: Final = ("fsync=off", "synchronous_commit=off", "full_page_writes=off")


def programs() -> Path | None:
    """The newest server's folder of programs; none where no server is installed."""
    found = sorted(PROGRAMS.glob("*/bin/initdb"))
    return found[-1].parent if found else None


def reason_to_skip() -> str:
    return "" if programs() else "not installed: postgresql"


@contextmanager
def running() -> Iterator[str]:
    """The address of a new and empty server, while the block lasts.

    Its folder has a short name, as the path of a socket must, and its own user may enter it.
    """
    tools = programs()
    assert tools
    with TemporaryDirectory(prefix="closeout-pg-") as name:
        Path(name).chmod(0o755)
        yield from _serve(tools, Path(name))


def _serve(tools: Path, folder: Path) -> Iterator[str]:
    cluster, socket = folder / "cluster", folder / "socket"
    socket.mkdir()
    if os.geteuid() == 0:  # the server refuses to be root's
        shutil.chown(socket, USER)
        shutil.chown(folder, USER)
    _run(tools / "initdb", "-D", cluster, "-A", "trust", "-U", USER, "--no-sync")
    flags = " ".join(f"-c {each}" for each in SETTINGS)
    start = f"-k {socket} -c listen_addresses='' {flags}"
    _run(tools / "pg_ctl", "-D", cluster, "-w", "-o", start, "-l", folder / "log", "start")
    try:
        yield f"postgresql:///{USER}?host={socket}&user={USER}"
    finally:
        _run(tools / "pg_ctl", "-D", cluster, "-m", "immediate", "stop")


def _run(*command: object) -> None:
    known = {"user": USER, "group": pwd.getpwnam(USER).pw_gid} if os.geteuid() == 0 else {}
    subprocess.run(
        list(map(str, command)),
        check=True,
        stdout=subprocess.DEVNULL,
        cwd="/",
        env={"LC_ALL": "C.UTF-8", "PATH": os.environ["PATH"]},
        **known,
    )
