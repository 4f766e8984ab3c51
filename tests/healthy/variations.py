"""Every variation of a healthy unit, each by its name."""

from typing import Final

from healthy import varied_numbers, varied_outside, varied_power, varied_surroundings
from healthy.variation import Variation

VARIATIONS: Final[tuple[Variation, ...]] = (
    *varied_power.VARIATIONS,
    *varied_surroundings.VARIATIONS,
    *varied_outside.VARIATIONS,
    *varied_numbers.VARIATIONS,
)
