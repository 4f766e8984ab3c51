"""A unit that starts from a stick, in the emulator, heard and answered over its serial line."""

import shutil
import socket
import subprocess
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Final

PROGRAM: Final = "qemu-system-x86_64"
FIRMWARE: Final = Path("/usr/share/OVMF")
CODE: Final = FIRMWARE / "OVMF_CODE_4M.ms.fd"
VARIABLES: Final = FIRMWARE / "OVMF_VARS_4M.ms.fd"
"""Microsoft's keys are enrolled in it and Secure Boot is on, as on a unit from the shop."""
MEMORY_MIB: Final = 2048
PERIOD: Final = 0.05
SHELL: Final = "console=ttyS0,115200 init=/bin/sh"
"""For the tests alone: instead of the check a shell on the serial line."""
SCREEN: Final = ("-vga", "std")
MENUS: Final = ("EFI/debian/grub.cfg", "boot/grub/grub.cfg")
PROMPT: Final = "# "


class StartError(AssertionError):
    """The unit did not say what was waited for."""


class Unit:
    """A running unit: what it said so far, and when."""

    def __init__(self, process: subprocess.Popen[bytes], line: socket.socket) -> None:
        self._process = process
        self._line = line
        self._begun = time.monotonic()
        self.said = ""

    @property
    def seconds(self) -> float:
        """Since it was switched on."""
        return time.monotonic() - self._begun

    def wait_for(self, *wanted: str, seconds: float = 240) -> str:
        """Which of the texts the unit said first; StartError when the time is over."""
        while True:
            self._listen()
            for text in wanted:
                if text in self.said:
                    return text
            if self.seconds > seconds or self._process.poll() is not None:
                raise StartError(f"no {wanted} in {self.seconds:.0f} s; said: {self.said[-1500:]}")
            time.sleep(PERIOD)

    def type(self, text: str) -> None:
        """Typed at once, as a scanner does."""
        self._line.sendall(text.encode())

    def ask(self, command: str, seconds: float = 120) -> str:
        """What a shell on the line prints for a command."""
        mark = f"end-{time.monotonic_ns()}"
        before = len(self.said)
        self._line.sendall(f"{command}; echo {mark[:4]}''{mark[4:]}\n".encode())
        until = self.seconds + seconds
        while mark not in self.said[before:]:
            self._listen()
            if self.seconds > until:
                raise StartError(f"no answer to {command!r}: {self.said[before:]}")
            time.sleep(PERIOD)
        answer = self.said[before:].replace("\r", "")
        typed = f"''{mark[4:]}\n"  # how the line shows the end of the command
        return answer.split(typed, 1)[1].split(mark)[0].strip()

    def _listen(self) -> None:
        try:
            while arrived := self._line.recv(65536):
                self.said += arrived.decode("utf-8", "replace")
        except BlockingIOError:
            return


@contextmanager
def started(
    image: Path | None,
    folder: Path,
    *,
    firmware: str = "secure-boot",
    screen: tuple[str, ...] = SCREEN,
    more: tuple[str, ...] = (),
    tell_firmware: Callable[[Path], object] = lambda _: None,
) -> Iterator[Unit]:
    """Switches on a unit with the image as a stick; what it writes to the stick is forgotten.

    `tell_firmware` changes the file of the firmware's variables before the start.
    """
    place = folder / "serial.sock"
    place.unlink(missing_ok=True)
    with subprocess.Popen(
        (
            *_command(folder, place, firmware, tell_firmware),
            *screen,
            *(_stick(image) if image else ()),
            *more,
        ),
        stderr=subprocess.DEVNULL,
    ) as process:
        try:
            with socket.socket(socket.AF_UNIX) as line:
                _connect(line, place)
                line.settimeout(0)
                yield Unit(process, line)
        finally:
            process.kill()


def _command(
    folder: Path, place: Path, firmware: str, tell_firmware: Callable[[Path], object]
) -> Iterator[str]:
    # One processor: with two, in some starts the emulator (7.2) does not see in time that the
    # kernel patches its own code, and the kernel stops with "Oops: int3".
    yield from (PROGRAM, "-accel", "tcg", "-smp", "1", "-m", f"{MEMORY_MIB}M")
    yield from ("-cpu", "Skylake-Client,hypervisor=off", "-nodefaults", "-no-user-config")
    yield from ("-display", "none", "-no-reboot", "-device", "qemu-xhci")
    yield from ("-chardev", f"socket,id=line,path={place},server=on,wait=off")
    yield from ("-serial", "chardev:line")
    if firmware == "bios":
        yield from ("-machine", "q35,hpet=off")
        return
    variables = folder / "variables.fd"
    shutil.copyfile(VARIABLES, variables)
    tell_firmware(variables)
    yield from ("-machine", "q35,smm=on,hpet=off", "-global", "ICH9-LPC.disable_s3=1")
    yield from ("-global", "driver=cfi.pflash01,property=secure,value=on")
    yield from ("-drive", f"if=pflash,unit=0,readonly=on,format=raw,file={CODE}")
    yield from ("-drive", f"if=pflash,unit=1,format=raw,file={variables}")


def _stick(image: Path) -> Iterator[str]:
    yield from ("-drive", f"if=none,id=stick,format=raw,snapshot=on,file={image}")
    yield from ("-device", "usb-storage,drive=stick,bootindex=0,removable=on")


def _connect(line: socket.socket, place: Path) -> None:
    for _ in range(200):
        try:
            line.connect(str(place))
        except (FileNotFoundError, ConnectionRefusedError):
            time.sleep(PERIOD)
        else:
            return
    raise StartError("the emulator did not start")


def with_shell(image: Path, folder: Path, offset: int) -> Path:
    """A copy of the image whose loaders start the kernel with a shell; `offset` of partition 2."""
    return with_options(image, folder / "with-shell.img", offset, SHELL)


def with_options(image: Path, copy: Path, offset: int, options: str) -> Path:
    """A copy of the image whose loaders give the kernel more options; `offset` of partition 2."""
    return _with_menus(image, copy, offset, ("closeout.stick=", f"{options} closeout.stick="))


def with_last_entry(image: Path, copy: Path, offset: int) -> Path:
    """A copy of the image that starts what stands last in its menu."""
    return _with_menus(image, copy, offset, ("set default=0", "set default=3"))


def _with_menus(image: Path, copy: Path, offset: int, change: tuple[str, str]) -> Path:
    subprocess.run(("cp", "--sparse=always", image, copy), check=True)
    volume = f"{copy}@@{offset}"
    changed = copy.with_suffix(".menu")
    for menu in MENUS:
        given = subprocess.run(
            ("mtype", "-i", volume, f"::/{menu}"), check=True, capture_output=True, text=True
        )
        assert change[0] in given.stdout
        changed.write_text(given.stdout.replace(*change))
        subprocess.run(("mcopy", "-o", "-i", volume, changed, f"::/{menu}"), check=True)
    return copy
