"""The ACPI source of a USB Type-C port behind a UCSI controller.

Layouts: USB Type-C Connector System Software Interface (UCSI) 1.1, chapters 3 (registers) and 4
(commands), and its BIOS implementation guide (the _DSM, and a mailbox at the resource's beginning).
Power Delivery objects: USB Power Delivery 3.0, chapter 6.4.
"""

from typing import Final

from notebook.acpi_text import inside, live, tidy
from notebook.control_page import MAILBOX, VALUES
from notebook.description import TypeC

INTERFACE: Final = "6f8398c2-7ca4-11e4-ad36-631042b5008f"

RESET_DONE, ACKNOWLEDGED, DONE = 1 << 27, 1 << 29, 1 << 31
NOT_SUPPORTED: Final = DONE | 1 << 25
CHANGE_ON_PORT_1: Final = 1 << 1
"""Bits of the CCI register; an answer's length goes to its second byte."""

RESET, ACKNOWLEDGE, ENABLE_NOTIFICATIONS, CAPABILITY = 0x01, 0x04, 0x05, 0x06
PORT_CAPABILITY, OFFERS, PORT_STATUS = 0x07, 0x10, 0x12
"""PPM_RESET, ACK_CC_CI, SET_NOTIFICATION_ENABLE, GET_CAPABILITY; GET_CONNECTOR_CAPABILITY,
GET_PDOS, GET_CONNECTOR_STATUS."""

CAPABILITIES: Final = (1 << 14 | 1 << 2 | 1 << 1, 1 | 1 << 12, 0x0100_0000, 0x0120_0300)
"""Fed by VBUS, speaks Power Delivery, knows Battery Charging; one port, tells its offers; Battery
Charging 1.0, Power Delivery 3.0, Type-C 1.2. Battery Charging (bit 1) makes the kernel say that the
port's supply feeds the system, and not a device (ucsi_psy_get_scope, drivers/usb/typec/ucsi/psy.c).
"""

EVERY_ROLE: Final = 0x3F64
"""A dual-role port of USB 2 and 3, provider and consumer, that may swap all its roles."""

PORT_CHANGED: Final = 1 << 14
"""The status of a port with nothing in it, its connection having changed."""

CHARGED: Final = PORT_CHANGED | 3 << 16 | 1 << 19 | 1 << 21 | 1 << 29
"""By Power Delivery, connected, the partner provides power, speaks USB and faces down."""

WANTED: Final = 2 << 28 | 325 << 10 | 325
"""The request: the second offer, 3.25 A."""

OFFERED: Final = (100 << 10 | 300, 400 << 10 | 325)
"""Fixed supplies: 5 V 3 A, 20 V 3.25 A."""

PORT_1_CHANGED: Final = f"UCCI = {CHANGE_ON_PORT_1} Notify (UBTC, 0x80)"
"""Statements that tell the kernel to ask for the port's status again."""


def answer(length: int) -> int:
    """The CCI register of a command that was carried out, with so many bytes of answer."""
    return DONE | length << 8


REGISTERS: Final = tidy(f"""
    OperationRegion (UCMB, SystemMemory, {MAILBOX:#x}, 0x30)
    Field (UCMB, ByteAcc, NoLock, Preserve)
    {{
        UVER, 16,
        Offset (0x04), UCCI, 32,
        Offset (0x08), UCMD, 8,
        Offset (0x0A), UPRT, 7, UPAR, 1, UOFF, 8, UNUM, 2, USRC, 1,
        Offset (0x10), UIN0, 32, UIN1, 32, UIN2, 32, UIN3, 32
    }}
""")
"""Version, CCI, the control register (the command, and what GET_PDOS asks for), the answer."""

IDENTITY: Final = tidy(f"""
    Name (_HID, EisaId ("USBC000"))
    Name (_CID, EisaId ("PNP0CA0"))
    Name (_UID, 1)
    Name (_CRS, ResourceTemplate () {{ Memory32Fixed (ReadWrite, {MAILBOX:#x}, 0x1000) }})
    Method (_STA) {{ Return (0x0F) }}
    Method (_INI) {{ UVER = 0x0110 }}
""")

ANSWERS: Final = tidy(f"""
    Method (TELL, 4) {{ UIN0 = Arg0 UIN1 = Arg1 UIN2 = Arg2 UIN3 = Arg3 }}
    Method (OFFR)
    {{
        If (UOFF || (UPAR && !PART ()) || (UPAR != USRC)) {{ Return ({answer(0):#x}) }}
        TELL ({OFFERED[0]:#x}, {OFFERED[1]:#x}, 0, 0)
        Return ({answer(8):#x})
    }}
    Method (STAT)
    {{
        UIN0 = {PORT_CHANGED:#x}
        If (PART ()) {{ TELL ({CHARGED:#x}, {WANTED:#x}, 1, 0) }}
        Return ({answer(9):#x})
    }}
""")
"""OFFR: what a partner provides and what the port takes are the same two offers; the port provides
and a partner takes none."""

COMMANDS: Final = tidy(f"""
    Method (OBEY, 1, Serialized)
    {{
        TELL (0, 0, 0, 0)
        Switch (ToInteger (Arg0))
        {{
            Case ({RESET:#x}) {{ Return ({RESET_DONE:#x}) }}
            Case ({ACKNOWLEDGE:#x}) {{ Return ({ACKNOWLEDGED:#x}) }}
            Case ({ENABLE_NOTIFICATIONS:#x}) {{ Return ({answer(0):#x}) }}
            Case ({CAPABILITY:#x})
            {{
                TELL ({", ".join(f"{number:#x}" for number in CAPABILITIES)})
                Return ({answer(16):#x})
            }}
            Case ({PORT_CAPABILITY:#x}) {{ UIN0 = {EVERY_ROLE:#x} Return ({answer(2):#x}) }}
            Case ({OFFERS:#x}) {{ Return (OFFR ()) }}
            Case ({PORT_STATUS:#x}) {{ Return (STAT ()) }}
        }}
        Return ({NOT_SUPPORTED:#x})
    }}
""")

DOOR: Final = tidy(f"""
    Method (_DSM, 4, Serialized)
    {{
        If (Arg0 != ToUUID ("{INTERFACE}")) {{ Return (Buffer () {{ 0 }}) }}
        If (ToInteger (Arg2) == 0) {{ Return (Buffer () {{ 0x07 }}) }}
        If (ToInteger (Arg2) == 1)
        {{
            UCCI = OBEY (UCMD)
            If (UCCI != {RESET_DONE:#x}) {{ Notify (UBTC, 0x80) }}
        }}
        Return (Buffer () {{ 0 }})
    }}
""")
"""Function 1 is the kernel's "there is a command", 2 its "bring the mailbox up to date": it always
is."""


def type_c(described: TypeC) -> str:
    """One port, behind a controller that answers what the kernel asks at its start."""
    partner = f"Method (PART) {{ {live(VALUES['partner'], int(described.partner))} }}"
    controller = inside("Device (UBTC)", (IDENTITY, partner, ANSWERS, COMMANDS, DOOR))
    return f"{REGISTERS}\n{controller}"
