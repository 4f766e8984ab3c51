"""What is done to a notebook that has woken: parts taken out, and the words of `plant` carried out.

unbind BUS DEVICE          the driver lets go of the device
show PATH TEXT             a file of the kernel's says this: a file of ours is mounted over it
damage PATH [OFFSET]       the same with one byte of it changed: the last, or the one at OFFSET
refuse PATH                reading it fails with EIO: the memory of a process is mounted over it
hang PATH                  reading it never ends: a file system that nobody answers for
clock TIME                 the chip's clock is set
"""

import json
import re
import time
from collections.abc import Callable, Iterator, Mapping
from typing import Any, Final

from notebook.control_page import is_taken
from notebook.description import Drive, Notebook, UsbDevice
from notebook.emulator import PANEL_FILE
from notebook.firmware_tables import panel_edid
from notebook.guest_plan import guest_plan
from notebook.machine import Machine
from notebook.matrix.variant import Variant
from notebook.session import GuestError
from notebook.usb_arguments import plug_commands, unplug_commands

PROGRAMS: Final = "/usr/lib/notebook"
TAKEN_WITHIN: Final = 10.0
PAGE: Final = re.compile(r"battery|adapter|type_c|lid|thermal|fan|light_sensor")
SERVED: Final = {"touchpad": "touchpad", "touchscreen": "touchscreen", "mouse": "mouse"}
SLOTS: Final = {"wired": "0000:00:04.0", "card_reader": "0000:00:04.1", "audio": "0000:00:04.2"}
"""The root port that each sits behind (`emulator._slots`)."""
REMOVE: Final = (
    'for it in /sys/bus/pci/devices/{port}/0000:*; do echo 1 > "$it/remove"; done; {settle}'
)
AGAIN: Final = (
    "modprobe -r mac80211_hwsim && ip netns delete aside && modprobe mac80211_hwsim radios=0"
)
"""No radio, and nothing in the way of another (`in_guest/radio.py`)."""
SETTLE: Final = "udevadm settle --timeout=20"
ASK_PANEL: Final = """
cd /sys/bus/pci/drivers/bochs-drm
for it in 0000:*; do echo $it > unbind; echo $it > bind; done
"""
"""The driver asks for the panel's EDID when it is bound, and not again."""
WAIT_FOR_USB: Final = "until [ -e /sys/bus/usb/devices/1-{port}/1-{port}:1.0 ]; do sleep 0.05; done"
WAIT_FOR_BLUETOOTH: Final = "until [ -e /sys/class/bluetooth/hci0 ]; do sleep 0.05; done; sleep 1; "
"""The second is for the kernel, which asks the controller for its address."""
HANGING: Final = """
import ctypes, os, sys
libc = ctypes.CDLL(None, use_errno=True)
device = os.open("/dev/fuse", os.O_RDWR)
told = f"fd={device},rootmode=100444,user_id=0,group_id=0".encode()
if libc.mount(b"silent", sys.argv[1].encode(), b"fuse", 0, told):
    sys.exit(os.strerror(ctypes.get_errno()))
if os.fork():
    os._exit(0)
os.setsid()
for number in (0, 1, 2):
    os.dup2(os.open(os.devnull, os.O_RDWR), number)
import signal
signal.pause()
"""


class PlantError(RuntimeError):
    """Something could not be planted; the text says what."""


def plant_all(machine: Machine, variant: Variant, words: tuple[str, ...]) -> None:
    """Takes out, changes and plants; the notebook then is as its faults say."""
    for part in variant.missing:
        _take_out(machine, variant.started, part)
    _tell(machine, variant)
    for line in words:
        word, *rest = line.split(" ")
        WORDS[word](machine, *rest)
    _shell(machine, SETTLE)


def _take_out(machine: Machine, started: Notebook, part: str) -> None:
    kind, _, name = part.partition(".")
    if kind == "usb":
        _unplug(machine, name, started.usb[name])
    elif kind == "drive":
        _take_out_drive(machine, name, started.drive[name])
    elif kind in SERVED:
        _shell(machine, f"kill $(cat /run/notebook/{kind}.pid)")
    elif kind == "radio":
        _shell(machine, "modprobe -r mac80211_hwsim")
    elif kind == "sensor":
        _remove_sensor(machine, started, name)
    else:
        _shell(machine, REMOVE.format(port=SLOTS[kind], settle=SETTLE))


def _unplug(machine: Machine, name: str, device: UsbDevice) -> None:
    order, terms = next(unplug_commands(name, device))
    machine.orders.give(order, **terms)
    _wait_gone(machine, f"/sys/bus/usb/devices/1-{device.port}")


def _replug(machine: Machine, name: str, device: UsbDevice) -> None:
    """Out and in again: the host plays it as it shows itself from now on."""
    _unplug(machine, name, device)
    for order, terms in plug_commands(name, device, machine.places.folder):
        machine.orders.give(order, **terms)
    there = WAIT_FOR_USB.format(port=device.port)
    ready = WAIT_FOR_BLUETOOTH if device.kind == "bluetooth" else ""
    _shell(machine, f"{there}; {ready}{SETTLE}")


def _take_out_drive(machine: Machine, name: str, drive: Drive) -> None:
    """An NVMe drive was never put back; another is told to leave its bus."""
    if drive.bus == "sata":
        _shell(machine, "echo 1 > /sys/block/sda/device/delete")
    elif drive.bus != "nvme":
        raise PlantError(f"drive.{name}: a drive on the bus {drive.bus} cannot be taken out")


def _remove_sensor(machine: Machine, started: Notebook, name: str) -> None:
    at = list(started.sensor).index(name)
    _python(
        machine,
        "chips = sensors.plan_chips(told)\n"
        "bus = sensors.find_bus()\n"
        f'(bus / "delete_device").write_text(f"{{chips[{at}].address:#x}}")',
        guest_plan(started)["sensors"],
    )


def _tell(machine: Machine, variant: Variant) -> None:
    """The control page was written before it woke; here it is seen to be taken."""
    told = variant.told
    if any(PAGE.match(path) for path in told):
        _wait_taken(machine)
    if any(path.startswith("sensor.") for path in told):
        _python(
            machine,
            "import os\nbus = sensors.find_bus()\n"
            'line = os.open("/dev/" + bus.name, os.O_RDWR)\n'
            "[sensors.write_registers(line, chip) for chip in sensors.plan_chips(told)]",
            guest_plan(variant.shown)["sensors"],
        )
    if "radio.address" in told:
        _shell(machine, AGAIN)
        _python(machine, "radio.make_radio(told)", guest_plan(variant.shown)["radio"])
    if any(path.startswith("panel.") for path in told) and variant.shown.panel:
        machine.session.write(f"/usr/lib/firmware/{PANEL_FILE}", panel_edid(variant.shown.panel))
        _shell(machine, ASK_PANEL)
    for name in dict.fromkeys(path.split(".")[1] for path in told if path.startswith("usb.")):
        _replug(machine, name, variant.started.usb[name])
    if told.get("radio.blocked"):
        _python(machine, "radio.block(told)", ["wlan"])


def _wait_taken(machine: Machine) -> None:
    """The firmware has seen the page, and the kernel has asked for what it was told to ask for."""
    until = time.monotonic() + TAKEN_WITHIN
    while not is_taken(machine.places.ram):
        if time.monotonic() > until:
            raise GuestError("the firmware does not look at the control page")
        machine.session.run("sh", "-c", "cat /sys/class/power_supply/*/uevent")
    machine.session.run("sh", "-c", "sleep 1.2; cat /sys/class/power_supply/*/uevent")


def _unbind(machine: Machine, bus: str, device: str) -> None:
    _shell(machine, f"echo {device} > /sys/bus/{bus}/devices/{device}/driver/unbind")


def _show(machine: Machine, path: str, *text: str) -> None:
    file = f"/run/planted{path}"
    machine.session.write(file, " ".join(text).encode().decode("unicode_escape").encode())
    _shell(machine, f"mount --bind {file} {path}")


def _damage(machine: Machine, path: str, place: str = "-1") -> None:
    file, content = f"/run/planted{path}", bytearray(machine.session.read(path))
    content[int(place)] ^= 0x55
    machine.session.write(file, bytes(content))
    _shell(machine, f"mount --bind {file} {path}")


def _refuse(machine: Machine, path: str) -> None:
    _shell(machine, f"mount --bind /proc/1/mem {path}")


def _hang(machine: Machine, path: str) -> None:
    """FUSE is built into the kernel; its device is a node of udev's, which may not be there yet."""
    _shell(machine, "[ -e /dev/fuse ] || mknod /dev/fuse c 10 229")
    ran = machine.session.run("python3", "-c", HANGING, path)
    if ran.status:
        raise PlantError(f"hang {path}: {ran.err.decode()}")


def _set_clock(machine: Machine, moment: str) -> None:
    _shell(machine, f"hwclock --set --utc --date {moment}")


WORDS: Final[Mapping[str, Callable[..., None]]] = {
    "unbind": _unbind,
    "show": _show,
    "damage": _damage,
    "refuse": _refuse,
    "hang": _hang,
    "clock": _set_clock,
}


def _wait_gone(machine: Machine, place: str) -> None:
    _shell(machine, f"while [ -e {place} ]; do sleep 0.05; done; {SETTLE}")


def _shell(machine: Machine, line: str) -> str:
    ran = machine.session.run("sh", "-c", line, seconds=30)
    if ran.status:
        raise PlantError(f"{line}: {ran.err.decode('utf-8', 'replace').strip() or ran.status}")
    return ran.text


def _python(machine: Machine, code: str, told: Any) -> None:  # noqa: ANN401 - JSON
    begin = (
        f"import json, sys\nsys.path.insert(0, {PROGRAMS!r})\nimport radio, sensors\n"
        "told = json.loads(sys.stdin.read())\n"
    )
    ran = machine.session.run(
        "python3", "-c", begin + code, given=json.dumps(told).encode(), seconds=30
    )
    if ran.status:
        raise PlantError(ran.err.decode("utf-8", "replace"))


def unknown_words(words: tuple[str, ...]) -> Iterator[str]:
    """The words that nobody knows."""
    yield from (line for line in words if line.split(" ")[0] not in WORDS)
