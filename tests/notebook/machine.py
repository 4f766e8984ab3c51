"""A running notebook: its files are laid out, the emulator started, the guest waited for.

`started(load_notebook("fen-14"), built_image())` gives a machine for the length of a `with`, and
`machine.session.run("iw", "dev")` runs a program in it.
"""

import os
import shutil
import subprocess
import tempfile
import time
from collections.abc import Iterator, Sequence
from contextlib import ExitStack, contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import BinaryIO, Final

from notebook import tray
from notebook.control_page import ControlPage, write_control_page
from notebook.description import Notebook
from notebook.emulator import Places, emulator_command
from notebook.image import Image
from notebook.laid_out_files import lay_out
from notebook.lock import Seat
from notebook.orders import Orders
from notebook.session import Session
from notebook.tray import lay_on_tray
from notebook.usb_service import serve_usb

STARTED_WITHIN: Final = 10.0
READY_WITHIN: Final = 180.0
BUNDLE: Final = "/run/notebook/agent.cpio"
IN_MEMORY: Final = Path("/dev/shm")  # noqa: S108 - the guest's RAM is a file; here it costs no disk


class EmulatorError(RuntimeError):
    """The emulator, or the TPM beside it, did not start; the text is its own."""


SEAT: Final = Seat(
    Path(tempfile.gettempdir()) / f"notebook-seat-{number}.lock"
    for number in range(os.cpu_count() or 1)
)
"""As many test processes run notebooks at once as there are cores: more would slow all down."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Machine:
    """A running notebook."""

    notebook: Notebook
    places: Places
    session: Session
    orders: Orders
    ready_after: float
    """Seconds from the emulator's start until the session answered."""
    has_loaded_agent: bool = False
    """Whether the session has loaded today's agent."""

    def show(self, page: ControlPage) -> None:
        """Changes what the firmware's devices say, while the guest runs."""
        write_control_page(self.places.ram, page)

    def hand_over(self, content: bytes, path: str) -> None:
        """Writes a file inside the guest, however large."""
        lay_on_tray(self.places.ram, content)
        self.session.write_from_memory(path, tray.BASE, len(content))

    def install_agent(self, bundle: Path) -> None:
        """Puts today's agent into a guest that may have started with another."""
        self.hand_over(bundle.read_bytes(), BUNDLE)
        self.session.run("sh", "-c", f"cd / && busybox cpio -idmu < {BUNDLE}")


@contextmanager
def started(notebook: Notebook, image: Image) -> Iterator[Machine]:
    """A notebook from its cold start until the block ends."""
    with run_folder() as folder, ExitStack() as ends:
        places = Places(folder=folder)
        structures = lay_out(notebook, image, places)
        command = emulator_command(notebook, image, places, structures)
        ends.enter_context(beside(notebook, places))
        begun = time.monotonic()
        ends.enter_context(running(command, places))
        session = Session(places.session)
        ends.callback(session.close)
        orders = ends.enter_context(Orders(places.orders))
        session.wait_until_ready(READY_WITHIN)
        yield Machine(
            notebook=notebook,
            places=places,
            session=session,
            orders=orders,
            ready_after=time.monotonic() - begun,
        )


@contextmanager
def run_folder() -> Iterator[Path]:
    """A folder for one run, in memory where there is one."""
    parent = IN_MEMORY if IN_MEMORY.is_dir() else Path(tempfile.gettempdir())
    _clear_away_killed_runs(parent)
    own = f"notebook-{os.getpid()}-"
    with SEAT.taken(), tempfile.TemporaryDirectory(prefix=own, dir=parent) as folder:
        yield Path(folder)


def _clear_away_killed_runs(parent: Path) -> None:
    """A run that was killed leaves the guest's memory lying in ours."""
    for folder in parent.glob("notebook-*-*"):
        if not Path(f"/proc/{folder.name.split('-')[1]}").exists():
            shutil.rmtree(folder, ignore_errors=True)


@contextmanager
def beside(notebook: Notebook, places: Places) -> Iterator[None]:
    """What runs beside the emulator: the TPM, and the USB devices that the host plays."""
    with ExitStack() as ends:
        if notebook.tpm:
            ends.enter_context(_tpm(places))
        ends.enter_context(serve_usb(notebook.usb, places.folder))
        yield


@contextmanager
def running(command: Sequence[str], places: Places) -> Iterator[None]:
    """The emulator, from when it takes orders until the block ends."""
    for socket in (places.orders, places.session, places.console):
        socket.unlink(missing_ok=True)
    said = places.folder / "emulator.log"
    with said.open("wb") as log:
        emulator = _begun(command, log)
    try:
        _wait_for(places.session, emulator, said)
        _wait_for(places.orders, emulator, said)
        yield
    finally:
        emulator.kill()
        emulator.wait()


def _begun(command: Sequence[str], log: BinaryIO) -> subprocess.Popen[bytes]:
    """A program that is killed with us, however we end."""
    bound = ("setpriv", "--pdeathsig", "KILL", *command)
    return subprocess.Popen(bound, stdin=subprocess.DEVNULL, stdout=log, stderr=log)


def _wait_for(place: Path, program: subprocess.Popen[bytes], said: Path) -> None:
    until = time.monotonic() + STARTED_WITHIN
    while not place.exists():
        if program.poll() is not None or time.monotonic() > until:
            raise EmulatorError(said.read_text("utf-8", "replace").strip() or "it does not start")
        time.sleep(0.01)


@contextmanager
def _tpm(places: Places) -> Iterator[None]:
    """A TPM in software; its places are absolute, since it changes its folder."""
    state = places.folder / "tpm"
    state.mkdir(exist_ok=True)
    said = places.folder / "tpm.log"
    command = [
        *("swtpm", "socket", "--tpm2", "--tpmstate", f"dir={state}"),
        *("--ctrl", f"type=unixio,path={places.tpm}"),
    ]
    with said.open("wb") as log:
        tpm = _begun(command, log)
    try:
        _wait_for(places.tpm, tpm, said)
        yield
    finally:
        tpm.kill()
        tpm.wait()
