"""Hardware security of SMBIOS: type 24, which passwords are set, field by field.

DMTF DSP0134 section 7.25 (Hardware Security); four statuses of two bits in the byte at 04h.
"""

from __future__ import annotations

from typing import Final

from closeout.decode import smbios_words as words
from closeout.decode.smbios_fields import Field, change, labelled, number_at, word_for
from closeout.decode.smbios_table import Structure
from closeout.model.frozen import field, frozen

SETTINGS: Final = 0x04
TWO_BITS: Final = 0b11


@frozen
class HardwareSecurityRecord:
    """Type 24, Hardware Security."""

    power_on: Field[str] = field(metadata=labelled("Power-On Password Status"))
    keyboard: Field[str] = field(metadata=labelled("Keyboard Password Status"))
    administrator: Field[str] = field(metadata=labelled("Administrator Password Status"))
    front_panel_reset: Field[str] = field(metadata=labelled("Front Panel Reset Status"))


def decode_hardware_security(structure: Structure) -> HardwareSecurityRecord:
    """Type 24 (7.25)."""
    return HardwareSecurityRecord(
        power_on=_status(structure, 6),
        keyboard=_status(structure, 4),
        administrator=_status(structure, 2),
        front_panel_reset=_status(structure, 0),
    )


def _status(structure: Structure, bit: int) -> Field[str]:
    return change(
        number_at(structure, SETTINGS),
        lambda settings: word_for(settings >> bit & TWO_BITS, words.SECURITY_STATUS),
    )
