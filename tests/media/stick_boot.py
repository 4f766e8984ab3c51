"""A notebook in the emulator, started as from the stick: its console, its sticks, its drives."""

import shutil
import socket
import time
from codecs import getincrementaldecoder
from collections.abc import Callable, Iterator, Sequence
from contextlib import ExitStack, contextmanager, suppress
from dataclasses import dataclass, field
from pathlib import Path
from typing import Final

from notebook.archive import join, pack_all
from notebook.description import Notebook
from notebook.emulator import INITIAL_AT, Places, emulator_command
from notebook.image import Image
from notebook.laid_out_files import _copy_into, lay_out
from notebook.machine import READY_WITHIN, beside, run_folder, running
from notebook.orders import Orders
from notebook.session import Session

HERE: Final = Path(__file__).parent
MODULES: Final = (
    "vfat",
    "nls_cp437",
    "nls_ascii",
    "nls_iso8859_1",
    "nls_utf8",
    "uas",
    "usb_storage",
)
"""What a stick needs beside what every notebook does."""
PATIENCE: Final = 240.0
PROMPTS: Final = ("Scan the order: ", "Scan the unit's label: ", "Scan your code: ")


class ConsoleLine:
    """The guest's serial console, read and typed at from outside."""

    def __init__(self, place: Path) -> None:
        self._socket = socket.socket(socket.AF_UNIX)
        self._socket.connect(str(place))
        self.seen = ""
        self._letters = getincrementaldecoder("utf-8")("replace")
        self._since = 0

    def wait_for(self, words: str, seconds: float = PATIENCE) -> float:
        """Reads until the words stand there, after those of the last time; how long it took."""
        begun = time.monotonic()
        while words not in self.seen[self._since :]:
            left = begun + seconds - time.monotonic()
            if left <= 0:
                raise AssertionError(f"{words!r} was not said in: {self.seen[self._since :]}")
            self._read(left)
        self._since = self.seen.index(words, self._since) + len(words)
        return time.monotonic() - begun

    def wait_for_one(self, *words: str, seconds: float = PATIENCE) -> str:
        """Reads until one of them stands there, after those of the last time: which."""
        until = time.monotonic() + seconds
        while True:
            new = self.seen[self._since :]
            if found := {new.index(word): word for word in words if word in new}:
                first = min(found)
                self._since += first + len(found[first])
                return found[first]
            if time.monotonic() > until:
                raise AssertionError(f"none of {words} was said in: {new}")
            self._read(until - time.monotonic())

    def type(self, text: str) -> None:
        """Types at once, as a scanner does."""
        self._socket.sendall(text.encode())

    def answer(self, prompt: str, text: str) -> None:
        """Waits for a prompt, and types once what was typed before is forgotten."""
        self.wait_for(prompt)
        time.sleep(0.5)
        self.type(f"{text}\r")

    def wait_for_end(self, seconds: float = PATIENCE) -> None:
        """Reads until the guest has switched itself off."""
        self._socket.settimeout(seconds)
        while arrived := self._socket.recv(1 << 16):
            self.seen += self._letters.decode(arrived)

    def _read(self, seconds: float) -> None:
        self._socket.settimeout(max(0.01, seconds))
        with suppress(TimeoutError):
            arrived = self._socket.recv(1 << 16)
            if not arrived:
                raise AssertionError(f"the guest ended: {self.seen}")
            self.seen += self._letters.decode(arrived)

    def close(self) -> None:
        """Hangs up."""
        self._socket.close()


@dataclass(frozen=True, slots=True, kw_only=True)
class StickRun:
    """A running unit: its console, a look inside, orders for the emulator."""

    console: ConsoleLine
    session: Session
    orders: Orders
    places: Places

    def check(self) -> None:
        """One whole check, of which nothing is scanned and nothing answered."""
        for prompt in PROMPTS:
            self.console.answer(prompt, "")
        self.console.answer("Your code (Enter = no questions): ", "")


@dataclass(frozen=True, slots=True, kw_only=True)
class Setup:
    """What a unit is started with beside its own description."""

    kernel_options: str = ""
    arguments: Sequence[str] = field(default_factory=tuple)
    prepare: Callable[[Places], object] = lambda _: None
    """Fills what was laid out, drives above all, before the emulator starts."""
    modules: Sequence[str] = MODULES


@contextmanager
def started_from_stick(notebook: Notebook, image: Image, setup: Setup) -> Iterator[StickRun]:
    """The unit from its cold start until the block ends."""
    with run_folder() as folder, ExitStack() as ends:
        places = Places(folder=folder)
        structures = lay_out(notebook, image, places)
        _add_overlay(image, places, setup)
        setup.prepare(places)
        command = list(emulator_command(notebook, image, places, structures))
        at = command.index("-append") + 1
        length = f"{places.initial.stat().st_size:#x}"
        told = command[at].rpartition(",")[0]
        command[at] = f"{told},{length} {setup.kernel_options}"
        ends.enter_context(beside(notebook, places))
        ends.enter_context(running([*command, *setup.arguments], places))
        console = ConsoleLine(places.console)
        ends.callback(console.close)
        session = Session(places.session)
        ends.callback(session.close)
        orders = ends.enter_context(Orders(places.orders))
        session.wait_until_ready(READY_WITHIN)
        yield StickRun(console=console, session=session, orders=orders, places=places)


def _add_overlay(image: Image, places: Places, setup: Setup) -> None:
    tree = places.folder / "overlay"
    tree.mkdir()
    shutil.copyfile(HERE / "in_guest_init", tree / "init")
    (tree / "init").chmod(0o755)
    modules = image.root / "usr/lib/modules" / image.release
    for path in _with_their_own(modules, setup.modules):
        there = tree / "usr/lib/modules" / image.release / path
        there.parent.mkdir(parents=True, exist_ok=True)
        shutil.copyfile(modules / path, there)
    overlay, whole = places.folder / "overlay.cpio", places.folder / "whole.cpio"
    pack_all(tree, overlay)
    join((places.initial, overlay), whole)
    whole.replace(places.initial)
    overlay.unlink()
    _copy_into(places.ram, INITIAL_AT, places.initial)


def _with_their_own(folder: Path, names: Sequence[str]) -> set[str]:
    needs = {}
    for line in (folder / "modules.dep").read_text("ascii").splitlines():
        path, _, others = line.partition(":")
        needs[Path(path).name.split(".")[0].replace("-", "_")] = (path, others.split())
    found = [needs[name] for name in names if name in needs]
    return {one for path, others in found for one in (path, *others)}


def stick_arguments(
    stick: Path, log: Path | None = None, *, readonly: bool = False, name: str = "stick"
) -> list[str]:
    """A USB stick in a controller of its own; with a log every write to it is noted in order."""
    only = ",read-only=on" if readonly else ""
    layers = [f"driver=file,filename={stick},node-name={name}-file{only}"]
    layers.append(f"driver=raw,file={name}-file,node-name={name}-raw{only}")
    if log is not None:
        log.touch()
        layers.append(f"driver=file,filename={log},node-name={name}-log-file")
        layers.append(f"driver=raw,file={name}-log-file,node-name={name}-log")
        layers.append(
            f"driver=blklogwrites,file={name}-raw,log={name}-log,node-name={name}-logged"
            ",log-sector-size=512,log-super-update-interval=1"
        )
    top = f"{name}-logged" if log else f"{name}-raw"
    arguments = [argument for layer in layers for argument in ("-blockdev", layer)]
    arguments += ["-device", f"qemu-xhci,id={name}-port"]
    return [
        *arguments,
        "-device",
        f"usb-storage,id={name},bus={name}-port.0,drive={top},removable=on",
    ]
