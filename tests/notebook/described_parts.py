"""Parts of a description that the guest makes for itself, or that a driver of its own tells.

`notebook.description` puts them into a whole notebook.
"""

from dataclasses import dataclass
from typing import Literal


@dataclass(frozen=True, slots=True, kw_only=True)
class ChargeLimits:
    """In percent: below `start` charging begins, at `end` it ends; for every battery."""

    start: int
    end: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Mouse:
    """A wireless mouse in reach, with its battery in percent."""

    ids: str
    name: str
    serial: str
    percent: int = 74


@dataclass(frozen=True, slots=True, kw_only=True)
class Sensor:
    """A chip on the system management bus and what it shows; proximity has light too."""

    chip: Literal["thermometer", "fan", "accelerometer", "proximity"]
    celsius: float = 42.0
    rpm: int = 2450
    nearness: int = 20
    lux: int = 98
    gravity: tuple[float, float, float] = (0.0, 0.0, 1.0)
