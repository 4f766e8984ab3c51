"""Snapshots: a notebook that has started once is there again within a second.

A template is made of a notebook once started: its memory is a file already, and the emulator writes
the state of its devices beside it (0.8 MB). Restored, each machine works on copies of its own. NVMe
drives cannot be part of a snapshot; they are pulled before it is taken and put back afterwards.
SMBIOS tables and static ACPI devices are frozen into it; what the control page says is not.
"""

import hashlib
import os
import shutil
import subprocess
import time
import warnings
from collections.abc import Iterator
from contextlib import ExitStack, contextmanager
from dataclasses import replace
from pathlib import Path
from typing import Final, NamedTuple

from notebook.agent_bundle import INSTALLED, agent_bundle, agent_digest
from notebook.control_page import control_page_of, events_between, write_control_page
from notebook.description import Notebook
from notebook.emulator import PROGRAM, Places, drive_device, emulator_command
from notebook.image import Image
from notebook.laid_out_files import lay_out
from notebook.lock import locked
from notebook.machine import READY_WITHIN, Machine, beside, run_folder, running
from notebook.orders import OrderError, Orders
from notebook.session import GuestError, Session
from notebook.usb_arguments import unconnected

WAIT_FOR_DRIVES: Final = """
while [ $(ls /sys/class/nvme/*/nvme*n1/size 2>/dev/null | wc -l) -lt {count} ]; do sleep 0.02; done
udevadm settle --timeout=10
"""
DECIDING: Final = (
    "acpi_*.py",
    "control_page.py",
    "emulator.py",
    "firmware_tables.py",
    "guest_*.py",
    "in_guest/*",
    "laid_out_files.py",
    "template.py",
    "usb_*.py",
)
STATE: Final = "state"
BEGAN: Final = "began"
"""The host's time when the emulator started: the notebook's clock goes on from there, also while
nothing of it runs."""
AGENT: Final = "agent"
"""Which agent was there when it started: today's needs not be handed over."""
TEMPLATES: Final = "templates"
MOST_KEPT: Final = 64
"""One for each notebook, and one for each fault that needs its own start."""
TRIES: Final = 3
MOVED_WITHIN: Final = 60.0
SHARED_MEMORY: Final = [{"capability": "x-ignore-shared", "state": True}]
"""The memory stays in its file, and out of the state."""
KEPT_OUT: Final = ("*.sock", "*.log", "guest-files", "guest-files.cpio")


@contextmanager
def restored(notebook: Notebook, image: Image, shown: Notebook | None = None) -> Iterator[Machine]:
    """The notebook as it was when it had started, until the block ends.

    `shown` is what it says since it woke: its NVMe drives and its control page are of that
    description. About one in two hundred does not wake on a busy host: it is thrown away, and
    another woken.
    """
    template = template_of(notebook, image)
    with ExitStack() as ends:
        for left in reversed(range(TRIES)):
            attempt = ExitStack()
            try:
                waking = Waking(notebook, shown or notebook, template)
                machine = _woken(waking, image, attempt)
            except GuestError as error:
                attempt.close()
                if not left:
                    raise
                warnings.warn(f"{notebook.title} did not wake: {error}", stacklevel=1)
            else:
                ends.push(attempt)
                break
        if (template / AGENT).read_text("ascii") != agent_digest():
            machine.install_agent(agent_bundle(image))
            machine = replace(machine, has_loaded_agent=False)
        yield machine


class Waking(NamedTuple):
    """The notebook that was started, what it shows from now on, and the snapshot of it."""

    notebook: Notebook
    shown: Notebook
    template: Path


def _woken(waking: Waking, image: Image, ends: ExitStack) -> Machine:
    notebook, shown, template = waking
    folder = ends.enter_context(run_folder())
    places = Places(folder=folder)
    _copy(template, folder)
    before, page = control_page_of(notebook), control_page_of(shown)
    write_control_page(places.ram, replace(page, notify=events_between(before, page)))
    begun = time.monotonic()
    command = (*_command(notebook, image, places), "-incoming", "defer")
    usb = {**notebook.usb, **shown.usb}  # what has been taken out is there until it is
    ends.enter_context(beside(replace(notebook, usb=usb), places))
    ends.enter_context(running(command, places))
    session = Session(places.session)
    ends.callback(session.close)
    orders = ends.enter_context(Orders(places.orders))
    _bring_in(orders, places.folder / STATE)
    _put_back(shown, orders, session)
    return Machine(
        notebook=shown,
        places=places,
        session=session,
        orders=orders,
        ready_after=time.monotonic() - begun,
        has_loaded_agent=True,
    )


def can_be_kept(notebook: Notebook) -> bool:
    """Whether the emulator can write the state of all its devices; of a USB network it cannot."""
    return all(device.kind != "network" for device in notebook.usb.values())


def template_of(notebook: Notebook, image: Image) -> Path:
    """The folder of the notebook's template, made if there is none of today's description."""
    folder = image.folder / TEMPLATES / _digest(notebook)
    folder.parent.mkdir(exist_ok=True)
    with locked(folder.with_suffix(".lock")):
        if not folder.is_dir():
            _forget_old(folder.parent)
            partial = folder.with_suffix(".partial")
            shutil.rmtree(partial, ignore_errors=True)
            partial.mkdir()
            _make(notebook, image, partial)
            partial.rename(folder)
    folder.touch()
    return folder


def _forget_old(templates: Path) -> None:
    """Half a gigabyte each: only those used last are kept."""
    made = [folder for folder in templates.iterdir() if folder.is_dir()]
    made.sort(key=lambda folder: folder.stat().st_mtime, reverse=True)
    for folder in made[MOST_KEPT - 1 :]:
        shutil.rmtree(folder, ignore_errors=True)


def _digest(notebook: Notebook) -> str:
    """Changes with the description and with every module that decides what becomes of it."""
    version = subprocess.run([PROGRAM, "--version"], capture_output=True, check=True).stdout
    digest = hashlib.sha256(repr(notebook).encode() + version)
    if notebook.firmware == "secure-boot":  # the agent cannot be handed over later
        digest.update(agent_digest().encode())
    here = Path(__file__).parent
    for pattern in DECIDING:
        for file in sorted(found for found in here.glob(pattern) if found.is_file()):
            digest.update(file.read_bytes())
    return digest.hexdigest()[:16]


def _make(notebook: Notebook, image: Image, template: Path) -> None:
    """The agent is loaded before the snapshot is taken, so that a check starts in no time."""
    with run_folder() as folder, ExitStack() as ends:
        places = Places(folder=folder)
        lay_out(notebook, image, places)
        command = _command(notebook, image, places)
        ends.enter_context(beside(notebook, places))
        (folder / AGENT).write_text(agent_digest(), "ascii")
        (folder / BEGAN).write_text(str(time.time()), "ascii")
        ends.enter_context(running(command, places))
        session = Session(places.session)
        ends.callback(session.close)
        orders = ends.enter_context(Orders(places.orders))
        session.wait_until_ready(READY_WITHIN)
        session.load_agent(f"/{INSTALLED}/agent")
        _bring_out(orders, folder / STATE)
        _empty(places.initial)
        _copy(folder, template, "always")  # what is zero becomes a hole


def _command(notebook: Notebook, image: Image, places: Places) -> tuple[str, ...]:
    """The same before and after: the drives are there, but not yet in their slots."""
    structures = len(list(places.folder.glob("smbios-*.bin")))
    return emulator_command(notebook, image, places, structures, pulled=_pulled(notebook))


def _pulled(notebook: Notebook) -> frozenset[str]:
    return frozenset(name for name, drive in notebook.drive.items() if drive.bus == "nvme")


def _copy(source: Path, target: Path, sparse: str = "auto") -> None:
    """All but sockets and logs; holes in the memory stay holes."""
    for file in source.iterdir():
        if not any(file.match(pattern) for pattern in KEPT_OUT):
            subprocess.run(["cp", "-r", f"--sparse={sparse}", file, target], check=True)


def _empty(file: Path) -> None:
    """Only the length is told to the kernel again; the content is in the memory."""
    length = file.stat().st_size
    os.truncate(file, 0)
    os.truncate(file, length)


def _bring_out(orders: Orders, state: Path) -> None:
    orders.give("stop")
    orders.give("migrate-set-capabilities", capabilities=SHARED_MEMORY)
    orders.give("migrate", uri=f"exec:cat > {state}")
    until = time.monotonic() + MOVED_WITHIN
    while (status := orders.give("query-migrate"))["status"] != "completed":
        if status["status"] == "failed" or time.monotonic() > until:
            raise OrderError(f"no snapshot: {status.get('error-desc', status)}")
        time.sleep(0.02)


def _bring_in(orders: Orders, state: Path) -> None:
    orders.give("migrate-set-capabilities", capabilities=SHARED_MEMORY)
    while unconnected(orders.give("query-chardev")):
        time.sleep(0.01)
    orders.give("migrate-incoming", uri=f"exec:cat {state}")
    until = time.monotonic() + MOVED_WITHIN
    while orders.give("query-status")["status"] == "inmigrate":
        if time.monotonic() > until:
            raise OrderError("the snapshot does not come in")
        time.sleep(0.01)
    orders.give("cont")


def _put_back(notebook: Notebook, orders: Orders, session: Session) -> None:
    """The drives into their slots; done when the kernel shows each of them and udev is through."""
    pulled = _pulled(notebook)
    for name in sorted(pulled):
        orders.give("device_add", **drive_device(name, notebook.drive[name]))
    waited = session.run("sh", "-c", WAIT_FOR_DRIVES.format(count=len(pulled)), seconds=20)
    if waited.status:
        raise GuestError("its drives are not back in their slots")
