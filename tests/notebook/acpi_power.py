"""The ACPI source of batteries and the mains adapter (ACPI 6.5, 10.2 and 10.3)."""

from collections.abc import Mapping
from typing import Final

from notebook.acpi_text import inside, live, quoted, tidy
from notebook.control_page import MOST_BATTERIES, VALUES, battery_words, live_battery
from notebook.described_parts import ChargeLimits
from notebook.description import Adapter, Battery

EMPTY_BAY, WITH_PACK = 0x0F, 0x1F
"""_STA (ACPI 6.5, 6.3.7): bits 0 to 3 say that the bay is there and works, bit 4 that it holds a
pack."""

RECHARGEABLE: Final = 1
MILLIWATT: Final = 0
UNKNOWN: Final = 0xFFFF_FFFF

Words = Mapping[str, str]
"""The names of a bay's words by what they tell."""


def battery(number: int, pack: Battery) -> str:
    """One bay, counted from 0, with its pack; ValueError where the control page has no such bay."""
    if number >= MOST_BATTERIES:
        raise ValueError(f"battery {number + 1}: the control page has {MOST_BATTERIES} bays")
    identity = tidy(f"""
        Name (_HID, EisaId ("PNP0C0A"))
        Name (_UID, {number + 1})
        Name (_PCL, Package () {{ \\_SB }})
    """)
    words = {attribute: word.name for attribute, word in battery_words(number).items()}
    parts = (identity, _presence(pack, words), _description(pack, words), _status(pack, words))
    return inside(f"Device (BAT{number})", parts)


def adapter(described: Adapter) -> str:
    """The mains adapter, called AC0."""
    return tidy(f"""
        Device (AC0)
        {{
            Name (_HID, "ACPI0003")
            Name (_PCL, Package () {{ \\_SB }})
            Method (_STA) {{ Return (0x0F) }}
            Method (_PSR) {{ {live(VALUES["online"], int(described.online))} }}
        }}
    """)


def charge_limits(described: ChargeLimits) -> str:
    """The limits, told by a WMI method as the kernel's driver huawei-wmi asks for them.

    The layout is that of drivers/platform/x86/huawei-wmi.c: 260 bytes, a status at 4, and the last
    two that are not 0 are the limits. _WDG: instance AA of a method, once (WMI for ACPI).
    """
    return tidy(f"""
        Device (WMLM)
        {{
            Name (_HID, EisaId ("PNP0C14"))
            Name (_UID, "LIMITS")
            Name (_WDG, Buffer ()
            {{
                0x5B, 0x0F, 0xBC, 0xAB, 0xA1, 0x8E, 0xD1, 0x11,
                0xA0, 0x00, 0xC9, 0x06, 0x29, 0x10, 0x00, 0x00,
                0x41, 0x41, 1, 2
            }})
            Name (LIMS, Buffer (0x104) {{ 0, 0, 0, 0, 0, {described.start}, {described.end} }})
            Method (WMAA, 3) {{ Return (LIMS) }}
        }}
    """)


def _presence(pack: Battery, words: Words) -> str:
    return tidy(f"""
        Method (_STA)
        {{
            Local0 = {int(pack.present)}
            If (LIVE ()) {{ Local0 = {words["present"]} }}
            If (Local0) {{ Return ({WITH_PACK:#x}) }}
            Return ({EMPTY_BAY:#x})
        }}
    """)


def _description(pack: Battery, words: Words) -> str:
    return tidy(f"""
        Name (BIXP, Package () {{ {", ".join(_described(pack))} }})
        Method (_BIX, 0, Serialized)
        {{
            If (LIVE ())
            {{
                BIXP [2] = {words["design_mwh"]}
                BIXP [3] = {words["full_mwh"]}
                BIXP [8] = {words["cycles"]}
            }}
            Return (BIXP)
        }}
    """)


def _described(pack: Battery) -> tuple[str, ...]:
    """_BIX, revision 0 (ACPI 6.5, 10.2.2): capacities, accuracy, sampling, steps, identity."""
    capacities = (pack.design_mwh, pack.full_mwh, RECHARGEABLE, pack.design_millivolts)
    warnings = (pack.design_mwh // 10, pack.design_mwh // 20)
    accuracy, sampling, steps = 95_000, (1000, 500, UNKNOWN, UNKNOWN), (10, 10)
    numbers = (0, MILLIWATT, *capacities, *warnings, pack.cycles, accuracy, *sampling, *steps)
    texts = (pack.model, pack.serial, pack.chemistry, pack.maker)
    return (*map(str, numbers), *map(quoted, texts))


def _status(pack: Battery, words: Words) -> str:
    """_BST (ACPI 6.5, 10.2.2): state, rate, what remains, voltage."""
    now = live_battery(pack)
    return tidy(f"""
        Name (BSTP, Package ()
        {{
            {now.state}, {now.rate_mw}, {now.remaining_mwh}, {now.millivolts}
        }})
        Method (_BST, 0, Serialized)
        {{
            If (LIVE ())
            {{
                BSTP [0] = {words["state"]}
                BSTP [1] = {words["rate_mw"]}
                BSTP [2] = {words["remaining_mwh"]}
                BSTP [3] = {words["millivolts"]}
            }}
            Return (BSTP)
        }}
    """)
