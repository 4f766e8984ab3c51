"""Numbers of the model in the units people read: 45000000 µWh as 45.00 Wh."""

from __future__ import annotations

from typing import Final, cast

MILLION: Final = 1_000_000
GIB: Final = 1 << 30
MIB: Final = 1 << 20
KIB: Final = 1 << 10

LARGER_UNITS: Final = {
    "µWh": ("Wh", MILLION),
    "µAh": ("Ah", MILLION),
    "µV": ("V", MILLION),
    "mHz": ("Hz", 1_000),
    "m°C": ("°C", 1_000),
    "mm/s²": ("m/s²", 1_000),
    "mlx": ("lx", 1_000),
    "m°": ("°", 1_000),
}
"""Unit of the model: the unit that people read, and how many of the first make one."""


def show_value(value: object, unit: str) -> str:
    """A value as people read it: yes and no, lists with commas, numbers in readable units.

    Numbers are cut to two places, never rounded up: a pack of 59.999 Wh has not 60.
    """
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, tuple):
        return ", ".join(cast("tuple[str, ...]", value)) or "none"
    if isinstance(value, int):
        return show_amount(value, unit)
    return str(value)


def show_amount(number: int, unit: str) -> str:
    """The number with its unit; the exact figure stands behind where the readable one is cut."""
    larger, parts = _larger_unit(number, unit)
    if parts == 1:
        return f"{number} {larger}".rstrip()
    readable = f"{_cut(number, parts)} {larger}"
    return readable if number % parts == 0 else f"{readable} ({number} {unit})"


def _larger_unit(number: int, unit: str) -> tuple[str, int]:
    if unit == "B":
        for name, size in (("GiB", GIB), ("MiB", MIB), ("KiB", KIB)):
            if abs(number) >= size:
                return name, size
    return LARGER_UNITS.get(unit, (unit, 1))


def _cut(number: int, parts: int) -> str:
    whole, rest = divmod(abs(number), parts)
    sign = "-" if number < 0 else ""
    if rest == 0:
        return f"{sign}{whole}"
    return f"{sign}{whole}.{rest * 100 // parts:02d}"
