"""What a smart card reader says in the language of its class: one slot, no card in it.

Source: USB-IF, Device Class: Smart Card, CCID, revision 1.1, table 5.1-1.
"""

from struct import Struct
from typing import Final

LAYOUT: Final = Struct("<BBHBBIIIBIIBIIIIIBBHBB")
REVISION: Final = 0x0110
LAST_SLOT: Final = 0
ALL_VOLTAGES: Final = 0b111
BOTH_PROTOCOLS: Final = 0b11
CLOCK_KHZ: Final = 4_000
BITS_A_SECOND: Final = 10_752
LONGEST_BLOCK: Final = 254
SHORT_EXCHANGE: Final = 0x0002_0000
"""Feature: whole short messages to and from a card."""
LONGEST_MESSAGE: Final = 271

CARD_CONTACT: Final = LAYOUT.pack(
    LAYOUT.size,
    0x21,
    REVISION,
    LAST_SLOT,
    ALL_VOLTAGES,
    BOTH_PROTOCOLS,
    CLOCK_KHZ,
    CLOCK_KHZ,
    0,
    BITS_A_SECOND,
    BITS_A_SECOND,
    0,
    LONGEST_BLOCK,
    0,
    0,
    SHORT_EXCHANGE,
    LONGEST_MESSAGE,
    0xFF,
    0xFF,
    0,
    0,
    1,
)
