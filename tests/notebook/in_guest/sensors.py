"""Chips on a system management bus made of memory, as real drivers read them.

The bus: Documentation/i2c/i2c-stub.rst, include/uapi/linux/i2c-dev.h. What the registers mean is
taken from the drivers that read them: drivers/hwmon/lm75.c, drivers/hwmon/lm63.c,
drivers/iio/accel/st_accel_core.c, drivers/iio/light/isl29028.c.
"""

import fcntl
import os
import struct
import time
from array import array
from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any, Final

BUSES: Final = Path("/sys/bus/i2c/devices")
BUS_NAME: Final = "SMBus stub driver"
SET_ADDRESS: Final = 0x0706
"""I2C_SLAVE_FORCE: also where a driver is bound already."""
TRANSFER: Final = 0x0720
"""I2C_SMBUS, with a struct i2c_smbus_ioctl_data: write or read, register, size, pointer."""
TRANSFER_REQUEST: Final = struct.Struct("BBIP")
WRITE: Final = 0
BYTE: Final = 2
WORD: Final = 3
PATIENCE_S: Final = 5.0

TACHOMETER_CLOCK: Final = 5_400_000
"""Of an lm63: ticks a minute."""
STANDING: Final = 0xFFFC
"""Its count where no pulse comes."""
LUX_OF_HUNDRED: Final = 49
"""Of an isl29028 in its range of 2000 lux."""
QUICK_READING: Final = "400"
"""In Hz. At the 1 Hz that the driver begins with, each axis takes two seconds to read."""

Told = Mapping[str, Any]
Registers = Mapping[int, int]


@dataclass(frozen=True, slots=True, kw_only=True)
class Chip:
    """A chip under the driver's name for it, and what its registers hold."""

    address: int
    name: str
    bytes: Registers = field(default_factory=dict)
    words: Registers = field(default_factory=dict)


def plan_chips(sensors: Sequence[Told]) -> tuple[Chip, ...]:
    """A chip for each sensor, at the next address of its kind; ValueError when there is none."""
    free = {kind: iter(addresses) for kind, (addresses, _) in KINDS.items()}
    chips = []
    for told in sensors:
        kind = told["chip"]
        address = next(free[kind], None)
        if address is None:
            raise ValueError(f"there is no address left for one more {kind}")
        chips.append(KINDS[kind][1](address, told))
    return tuple(chips)


def thermometer(address: int, told: Told) -> Chip:
    """An lm75b: eighths of a degree in the upper eleven bits of a word, high byte first."""
    value = round(told["celsius"] * 8)
    if not -0x400 <= value < 0x400:
        raise ValueError(f"{told['celsius']} degrees: a thermometer shows -128 to 127.875")
    hysteresis, limit = 75 * 256, 80 * 256
    words = {0: value << 5, 2: hysteresis, 3: limit}
    swapped = {register: _swapped(word & 0xFFFF) for register, word in words.items()}
    return Chip(address=address, name="lm75b", words=swapped)


def fan(address: int, told: Told) -> Chip:
    """An lm63: one fan, and two temperatures that stay at 40 degrees."""
    count = tachometer_count(told["rpm"])
    temperatures = {0x00: 40, 0x01: 40, 0x05: 70, 0x07: 70, 0x19: 85, 0x21: 10}
    tachometer = {0x46: count & 0xFF, 0x47: count >> 8, 0x48: 0xFC, 0x49: 0xFF}
    identity = {0xFE: 0x01, 0xFF: 0x41}
    duty = {0x4A: 0x20, 0x4C: 23, 0x4D: 23}
    switched_on = {0x03: 0x04}
    registers = {**switched_on, **temperatures, **tachometer, **duty, **identity}
    return Chip(address=address, name="lm63", bytes=registers)


def tachometer_count(rpm: int) -> int:
    """Ticks between two pulses, in the fours that the chip counts in."""
    if rpm == 0:
        return STANDING
    count = round(TACHOMETER_CLOCK / rpm / 4) * 4
    if not 0 < count < STANDING:
        raise ValueError(f"{rpm} rpm: a tachometer shows 0 or 83 to 2,700,000")
    return count


def shown_rpm(rpm: int) -> int:
    """What the driver makes of it; less than a thousandth beside it up to 2,700 rpm."""
    return 0 if rpm == 0 else TACHOMETER_CLOCK // tachometer_count(rpm)


def accelerometer(address: int, told: Told) -> Chip:
    """A lis2dh12 in its range of 2 g: thousandths of a g, in the upper twelve bits."""
    registers = {0x0F: 0x33, 0x27: 0xFF}
    for axis, gravity in enumerate(told["gravity"]):
        value = round(gravity * 1000)
        if not -0x800 <= value < 0x800:
            raise ValueError(f"{gravity} g: an accelerometer shows -2.048 to 2.047")
        low, high = struct.pack("<h", value << 4)
        registers |= {0x28 + 2 * axis: low, 0x29 + 2 * axis: high}
    # The driver sets the top bit of the register to read several at a time.
    mirrored = {register | 0x80: value for register, value in registers.items()}
    return Chip(address=address, name="lis2dh12_accel", bytes={**registers, **mirrored})


def proximity(address: int, told: Told) -> Chip:
    """An isl29028: nearness in a byte, light in twelve bits of 0.49 lux."""
    nearness, count = told["nearness"], light_count(told["lux"])
    if not 0 <= nearness <= 0xFF:
        raise ValueError(f"{nearness}: a proximity sensor shows 0 to 255")
    light = {0x09: count & 0xFF, 0x0A: count >> 8}
    return Chip(address=address, name="isl29028", bytes={0x08: nearness, **light})


def light_count(lux: int) -> int:
    """What the chip counts so that its driver tells so many lux: count x 49 / 100, cut off."""
    count = -(-lux * 100 // LUX_OF_HUNDRED)
    if not 0 <= count <= 0xFFF:
        raise ValueError(f"{lux} lux: a proximity sensor shows 0 to 2006")
    return count


KINDS: Final[Mapping[str, tuple[range, Callable[[int, Told], Chip]]]] = {
    "thermometer": (range(0x48, 0x4C), thermometer),
    "fan": (range(0x4C, 0x4E), fan),
    "accelerometer": (range(0x18, 0x1A), accelerometer),
    "proximity": (range(0x44, 0x46), proximity),
}
"""By kind the addresses, together not more than the ten that the bus has room for."""

DRIVERS: Final = {
    "thermometer": "lm75",
    "fan": "lm63",
    "accelerometer": "st_accel_i2c",
    "proximity": "isl29028",
}
"""The module that drives each kind."""


def bus_options(chips: Sequence[Chip]) -> str:
    """What the bus's module is told."""
    return "chip_addr=" + ",".join(f"{chip.address:#x}" for chip in chips)


def make_sensors(chips: Sequence[Chip]) -> tuple[Path, ...]:
    """The places of the chips, each with its driver; the bus is there already."""
    bus = find_bus()
    with _opened(Path("/dev") / bus.name) as line:
        for chip in chips:
            write_registers(line, chip)
    return tuple(bind(bus, chip) for chip in chips)


def find_bus() -> Path:
    """The bus that is made of memory."""
    for named in BUSES.glob("i2c-*/name"):
        if named.read_text().strip() == BUS_NAME:
            return named.parent.resolve()
    raise FileNotFoundError(f"no bus is called {BUS_NAME!r}")


def write_registers(line: int, chip: Chip) -> None:
    """Every register of a chip holds its value."""
    fcntl.ioctl(line, SET_ADDRESS, chip.address)
    for size, registers in ((BYTE, chip.bytes), (WORD, chip.words)):
        for register, value in registers.items():
            told = array("B", struct.pack("=H", value))
            request = TRANSFER_REQUEST.pack(WRITE, register, size, told.buffer_info()[0])
            fcntl.ioctl(line, TRANSFER, request)


def bind(bus: Path, chip: Chip) -> Path:
    """The place of a chip, once its driver has taken it."""
    (bus / "new_device").write_text(f"{chip.name} {chip.address:#x}")
    place = bus / f"{bus.name.removeprefix('i2c-')}-{chip.address:04x}"
    end = time.monotonic() + PATIENCE_S
    while not (place / "driver").exists():
        if time.monotonic() > end:
            raise TimeoutError(f"no driver takes {chip.name} at {chip.address:#x}")
        time.sleep(0.01)
    for frequency in place.glob("iio:device*/sampling_frequency"):
        frequency.write_text(QUICK_READING)
    return place


@contextmanager
def _opened(device: Path) -> Iterator[int]:
    end = time.monotonic() + PATIENCE_S
    while not device.exists() and time.monotonic() < end:
        time.sleep(0.01)
    line = os.open(device, os.O_RDWR)
    try:
        yield line
    finally:
        os.close(line)


def _swapped(word: int) -> int:
    return (word & 0xFF) << 8 | word >> 8
