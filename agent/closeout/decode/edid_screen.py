"""Input, size, gamma, features and colours of a display (VESA E-EDID 1.4, 3.6 and 3.7)."""

from __future__ import annotations

from typing import Final

from closeout.decode.edid_given import Given, NotGiven
from closeout.model.frozen import frozen

DIGITAL: Final = 0x80
FIRST_IS_NATIVE: Final = 0x02
BITS_PER_COLOUR: Final = {1: 6, 2: 8, 3: 10, 4: 12, 5: 14, 6: 16}
INTERFACES: Final = {1: "DVI", 2: "HDMI-a", 3: "HDMI-b", 4: "MDDI", 5: "DisplayPort"}
SINCE_1_4: Final = NotGiven(reason="versions before 1.4 do not say")
ANALOG: Final = NotGiven(reason="the input is analog")


@frozen
class Screen:
    """Bytes 14h to 18h. `aspect_hundredths` is width over height where only that is given.

    `native_flag` is bit 1 of the features: the first detailed timing is the native mode (1.4)
    or the preferred one (before). `features` is the whole byte 18h.
    """

    digital: bool
    bits_per_colour: Given[int]
    interface: Given[str]
    size_centimetres: Given[tuple[int, int]]
    aspect_hundredths: Given[int]
    gamma_hundredths: Given[int]
    native_flag: bool
    features: int


@frozen
class Chromaticity:
    """Bytes 19h to 22h: x and y of each, in 1/1024 of CIE 1931."""

    red: tuple[int, int]
    green: tuple[int, int]
    blue: tuple[int, int]
    white: tuple[int, int]


def decode_screen(block: bytes, revision: int) -> Screen:
    """What the first block says of input, size and gamma."""
    signal, across, down, gamma, features = block[0x14:0x19]
    return Screen(
        digital=bool(signal & DIGITAL),
        bits_per_colour=_decode_bits(signal, revision),
        interface=_decode_interface(signal, revision),
        size_centimetres=_decode_size(across, down),
        aspect_hundredths=_decode_aspect(across, down, revision),
        gamma_hundredths=(
            NotGiven(reason="an extension gives the gamma") if gamma == 0xFF else gamma + 100
        ),
        native_flag=bool(features & FIRST_IS_NATIVE),
        features=features,
    )


def _decode_bits(signal: int, revision: int) -> Given[int]:
    if not signal & DIGITAL:
        return ANALOG
    if revision < 4:
        return SINCE_1_4
    undefined = NotGiven(reason="the colour depth is left undefined")
    return BITS_PER_COLOUR.get(signal >> 4 & 7, undefined)


def _decode_interface(signal: int, revision: int) -> Given[str]:
    if not signal & DIGITAL:
        return ANALOG
    if revision < 4:
        return SINCE_1_4
    return INTERFACES.get(signal & 15, NotGiven(reason="the interface is left undefined"))


def _decode_size(across: int, down: int) -> Given[tuple[int, int]]:
    if across and down:
        return across, down
    return NotGiven(reason="the size is variable or unknown")


def _decode_aspect(across: int, down: int, revision: int) -> Given[int]:
    """One of the two bytes alone is an aspect since 1.4: (byte + 99) / 100, or its inverse."""
    if revision >= 4 and across and not down:
        return across + 99
    if revision >= 4 and down and not across:
        return round(10_000 / (down + 99))
    return NotGiven(reason="no aspect ratio is given in place of the size")


def decode_chromaticity(block: bytes) -> Chromaticity:
    """Ten bits each: the low two in bytes 19h and 1Ah, the high eight from 1Bh on."""
    low = int.from_bytes(block[0x19:0x1B], "big")
    tens = [block[0x1B + at] << 2 | low >> (14 - 2 * at) & 3 for at in range(8)]
    return Chromaticity(
        red=(tens[0], tens[1]),
        green=(tens[2], tens[3]),
        blue=(tens[4], tens[5]),
        white=(tens[6], tens[7]),
    )
