"""A PostgreSQL server of the system, in a folder of its own, on a socket and no network."""

import os
import pwd
import shutil
import subprocess
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Final

PROGRAMS: Final = Path("/usr/lib/postgresql")
OWNER: Final = "postgres"
SOON: Final = 60
SETTINGS: Final = {
    "fsync": "off",  # what is lost with the machine is no matter of these tests
    "full_page_writes": "off",
    "listen_addresses": "''",
    "max_connections": "20",
    "shared_buffers": "32MB",
}


def folder_of_programs() -> Path | None:
    """Where `initdb` and `pg_ctl` are; none where the package postgresql is not installed."""
    found = sorted(PROGRAMS.glob("*/bin/initdb"))
    return found[-1].parent if found else None


def reason_to_skip() -> str:
    """Why there is no server; empty where there can be one."""
    return "" if folder_of_programs() else "PostgreSQL is not installed: apt-get install postgresql"


class Server:
    """One server; it is never asked over a network."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self._made = 0

    def run(self, program: str, *arguments: str) -> None:
        """One of the server's programs, as a user that it lets be its owner."""
        programs = folder_of_programs()
        assert programs is not None
        command = [str(programs / program), *arguments]
        if os.geteuid() == 0:
            command = ["setpriv", "--reuid", OWNER, "--regid", OWNER, "--clear-groups", *command]
        with (self.folder / "out").open("ab") as out:
            ended = subprocess.run(
                command,
                check=False,
                timeout=SOON,
                cwd=self.folder,
                stdin=subprocess.DEVNULL,
                stdout=out,
                stderr=subprocess.STDOUT,
            )
        assert ended.returncode == 0, (self.folder / "out").read_text("utf-8")

    def start(self) -> None:
        """Starts it, and waits until it answers."""
        told = " ".join(f"-c {name}={value}" for name, value in SETTINGS.items())
        log = str(self.folder / "log")
        self.run("pg_ctl", "-D", "data", "-l", log, "-w", "-o", f"-k {self.folder} {told}", "start")

    def stop(self, mode: str = "immediate") -> None:
        """Stops it at once, as a machine does that loses its power."""
        self.run("pg_ctl", "-D", "data", "-w", "-m", mode, "stop")

    def new_database(self) -> str:
        """The URL of an empty database."""
        self._made += 1
        name = f"ledger{self._made}"
        self.run("psql", "-h", str(self.folder), "-d", "postgres", "-qc", f"CREATE DATABASE {name}")
        return f"postgresql://{self.owner}@/{name}?host={self.folder}"

    @property
    def owner(self) -> str:
        """Who the server takes for its owner."""
        return OWNER if os.geteuid() == 0 else pwd.getpwuid(os.geteuid()).pw_name


@contextmanager
def running_server() -> Iterator[Server]:
    """A server until the block ends."""
    folder = Path(tempfile.mkdtemp(prefix="closeout-server-"))
    if os.geteuid() == 0:
        shutil.chown(folder, OWNER, OWNER)
    server = Server(folder)
    try:
        server.run("initdb", "-D", "data", "-A", "trust", "--no-sync", "-E", "UTF8", "--no-locale")
        server.start()
        yield server
        server.stop()
    finally:
        shutil.rmtree(folder, ignore_errors=True)
