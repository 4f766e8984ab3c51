"""A described notebook that starts from a built stick, played at its keyboard.

The firmware is the emulator's own with the keys of a unit from the shop: Secure Boot is on, the
stick's loaders and kernel are the distribution's, and the agent is what the stick brings along.
"""

import shutil
import subprocess
import time
from collections.abc import Iterator, Mapping
from contextlib import ExitStack, contextmanager, suppress
from dataclasses import dataclass, field
from pathlib import Path
from typing import Final

from media.stick_boot import ConsoleLine
from media.write_watch import trace_arguments
from notebook.description import Notebook
from notebook.emulator import Places, emulator_command
from notebook.image import Image
from notebook.laid_out_files import lay_out
from notebook.machine import beside, run_folder, running
from notebook.orders import Orders

FIRMWARE: Final = Path("/usr/share/OVMF")
CODE: Final = FIRMWARE / "OVMF_CODE_4M.ms.fd"
VARIABLES: Final = FIRMWARE / "OVMF_VARS_4M.ms.fd"
MENU: Final = "EFI/debian/grub.cfg"
RESERVED: Final = "'memmap=64K$0x10000000'"
"""The page through which the emulated firmware's devices are told what they show."""
KEYS: Final[Mapping[str, tuple[str, ...]]] = {
    " ": ("spc",),
    "-": ("minus",),
    ".": ("dot",),
    "\n": ("ret",),
}
BETWEEN_KEYS: Final = 0.04
FORGETS_WITHIN: Final = 0.5
PATIENCE: Final = 600.0
"""A busy host takes its time."""


@dataclass(kw_only=True)
class PlayedUnit:
    """The running unit: what its screen says, its keys, and when each thing was seen."""

    console: ConsoleLine
    orders: Orders
    places: Places
    pictures: Path
    begun: float
    seen: dict[str, float] = field(default_factory=dict)

    def wait_for(self, words: str, called: str = "") -> None:
        """Until the words stand on the screen; when that was is noted under a name."""
        self.console.wait_for(words, PATIENCE)
        if called:
            self.seen[called] = self.seconds

    @property
    def seconds(self) -> float:
        """Since the unit was switched on."""
        return time.monotonic() - self.begun

    def wait_for_one(self, *words: str) -> str:
        """Which of the words came first; what stands before them is passed over."""
        return self.console.wait_for_one(*words)

    def answer(self, prompt: str, text: str) -> None:
        """Waits for a prompt, then types."""
        self.wait_for(prompt)
        self.press(text)

    def press(self, text: str) -> None:
        """The keys of the unit's own keyboard, one after the other, and Enter.

        What was typed before a question is forgotten, so it is given the time to forget.
        """
        time.sleep(FORGETS_WITHIN)
        for letter in f"{text}\n":
            keys = KEYS.get(letter) or (
                ("shift", letter.lower()) if letter.isupper() else (letter,)
            )
            told = [{"type": "qcode", "data": key} for key in keys]
            self.orders.give("send-key", keys=told, **{"hold-time": 20})
            time.sleep(BETWEEN_KEYS)

    def picture(self, name: str) -> Path:
        """What the unit's screen shows now, as a file."""
        file = self.pictures / f"{name}.png"
        self.orders.give("screendump", filename=str(file), format="png")
        return file


@contextmanager
def played(
    notebook: Notebook, image: Image, stick: Path, pictures: Path, trace: Path
) -> Iterator[PlayedUnit]:
    """The unit from when it is switched on until the block ends; the stick is written for real."""
    with run_folder() as folder, ExitStack() as ends:
        places = Places(folder=folder)
        structures = lay_out(notebook, image, places)
        shutil.copyfile(VARIABLES, places.variables)
        command = _from_stick(emulator_command(notebook, image, places, structures))
        ends.enter_context(beside(notebook, places))
        begun = time.monotonic()
        ends.enter_context(running([*command, *_stick(stick), *trace_arguments(trace)], places))
        console = ConsoleLine(places.console)
        ends.callback(console.close)
        orders = Orders(places.orders)
        ends.callback(_hang_up, orders)
        pictures.mkdir(parents=True, exist_ok=True)
        yield PlayedUnit(
            console=console, orders=orders, places=places, pictures=pictures, begun=begun
        )


def _hang_up(orders: Orders) -> None:
    """A unit that was switched off takes no goodbye."""
    with suppress(OSError):
        orders.close()


def with_page_reserved(image: Path, copy: Path, start: int) -> Path:
    """A copy of a stick's image that keeps its kernel off the page; `start` of its partition 2."""
    subprocess.run(("cp", "--sparse=always", image, copy), check=True)
    volume = f"{copy}@@{start}"
    menu = copy.with_suffix(".menu")
    given = subprocess.run(
        ("mtype", "-i", volume, f"::/{MENU}"), check=True, capture_output=True, text=True
    )
    told = given.stdout.replace(" closeout.stick=", f" {RESERVED} closeout.stick=")
    assert RESERVED in told
    menu.write_text(told, "utf-8")
    subprocess.run(("mcopy", "-o", "-i", volume, menu, f"::/{MENU}"), check=True)
    return copy


def _from_stick(command: tuple[str, ...]) -> list[str]:
    """The same unit without a kernel of its own: its firmware starts what is plugged in."""
    kept: list[str] = []
    told = iter(command)
    for argument in told:
        if argument in {"-kernel", "-append"}:
            next(told)
        else:
            kept.append(argument)
    at = next(at for at, word in enumerate(kept) if "unit=0,readonly=on" in word)
    kept[at] = f"if=pflash,unit=0,readonly=on,format=raw,file={CODE}"
    return kept


def _stick(image: Path) -> list[str]:
    return [
        *("-device", "qemu-xhci,id=stick-port"),
        *("-drive", f"if=none,id=stick-drive,format=raw,file={image}"),
        "-device",
        "usb-storage,id=stick,bus=stick-port.0,drive=stick-drive,removable=on,bootindex=0",
    ]
