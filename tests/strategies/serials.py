"""Serial numbers as makers of notebooks and parts shape them, invented throughout.

The shapes are common practice of the trade; no maker's numbering is imitated in full.
"""

from collections.abc import Callable, Mapping
from random import Random
from typing import Final
from uuid import UUID

DIGITS: Final = "0123456789"
LETTERS: Final = "ABCDEFGHIJKLMNOPQRSTUVWXYZ"
UNMISTAKABLE: Final = "0123456789BCDFGHJKLMNPQRSTVWXYZ"
"""Base 31: no vowel, so that no tag reads as a word."""

FIRST_SECOND_OF_2015: Final = 0x1E4914E_0A3C0000
"""A count of 100 ns since 1582, where version 1 UUIDs of invented boards begin."""


def _draw(random: Random, alphabet: str, count: int) -> str:
    return "".join(random.choices(alphabet, k=count))


def service_tag(random: Random) -> str:
    """Seven characters without vowels."""
    return _draw(random, UNMISTAKABLE, 7)


def letters_and_digits(random: Random) -> str:
    """Two letters and six characters of either kind."""
    return _draw(random, LETTERS, 2) + _draw(random, LETTERS + DIGITS, 6)


def factory_and_week(random: Random) -> str:
    """Three characters of a factory, year digit, week and four characters."""
    week = random.randint(1, 53)
    return f"{random.choice(DIGITS)}{_draw(random, LETTERS, 2)}{random.randint(0, 9)}{week:02}" + (
        _draw(random, LETTERS + DIGITS, 4)
    )


def decimal(random: Random) -> str:
    """Twelve to twenty digits."""
    return _draw(random, DIGITS, random.randint(12, 20))


def counter(random: Random) -> str:
    """Maker's letters, year and month, and a counter with its leading zeros."""
    date = f"{random.randint(2010, 2026)}{random.randint(1, 12):02}"
    return f"{_draw(random, LETTERS, random.randint(2, 4))}{date}{random.randint(1, 40000):07}"


def grouped(random: Random) -> str:
    """Part number, lot and counter with hyphens between."""
    return "-".join(_draw(random, LETTERS + DIGITS, count) for count in (2, 6, 5, 4))


def hardware_address(random: Random) -> str:
    """Six bytes in hex with colons."""
    return ":".join(f"{random.randrange(256):02X}" for _ in range(6))


def memory_serial(random: Random) -> str:
    """Four bytes in hex, as SPD holds them."""
    return f"{random.getrandbits(32):08X}"


def random_uuid(random: Random) -> str:
    """RFC 9562 version 4."""
    return str(UUID(int=random.getrandbits(128), version=4)).upper()


def timed_uuid(random: Random) -> str:
    """RFC 9562 version 1: time, clock sequence and a hardware address."""
    ticks = FIRST_SECOND_OF_2015 + random.randrange(3 * 10**15)
    low, middle, high = ticks & 0xFFFFFFFF, (ticks >> 32) & 0xFFFF, (ticks >> 48) & 0x0FFF
    fields = (low, middle, high, random.randrange(64), random.randrange(256))
    return str(UUID(fields=(*fields, random.getrandbits(48)), version=1))


Shape = Callable[[Random], str]

SERIAL_SHAPES: Final[Mapping[str, Shape]] = {
    "service tag, 7 of base 31": service_tag,
    "letters and digits, 8": letters_and_digits,
    "factory and week, 10": factory_and_week,
    "decimal, 12 to 20": decimal,
    "prefix, month, counter": counter,
    "groups with hyphens": grouped,
    "hardware address": hardware_address,
    "memory serial, 8 hex": memory_serial,
}
UUID_SHAPES: Final[Mapping[str, Shape]] = {
    "UUID version 4": random_uuid,
    "UUID version 1": timed_uuid,
}


def generated(count: int, seed: int = 20260101) -> Mapping[tuple[str, str], list[str]]:
    """`count` texts of every shape, the same for the same seed, by field and name of shape."""
    random = Random(seed)  # noqa: S311 - invented serials, no secrets
    shapes = [("System/Serial Number", *shape) for shape in SERIAL_SHAPES.items()]
    shapes += [("System/UUID", *shape) for shape in UUID_SHAPES.items()]
    return {(field, name): [shape(random) for _ in range(count)] for field, name, shape in shapes}
