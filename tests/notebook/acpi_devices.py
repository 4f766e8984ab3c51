"""The ACPI source of what is neither power nor Type-C: lid, buttons, thermals, light."""

from typing import Final

from notebook.acpi_text import live, quoted, tidy
from notebook.control_page import VALUES, decikelvin
from notebook.described_inputs import TouchpadLine
from notebook.description import (
    Backlight,
    Fan,
    KeyboardLight,
    Lid,
    LightSensor,
    Thermal,
)

BUTTONS: Final = tidy("""
    Device (PWRB) { Name (_HID, EisaId ("PNP0C0C")) }
    Device (SLPB) { Name (_HID, EisaId ("PNP0C0E")) }
""")
"""Power and sleep button as devices of their own (ACPI 6.5, 4.8.2.2); every notebook has them."""

DISPLAY_NODE: Final = "\\_SB.PCI0.S08"
"""What the emulator's own table calls the display adapter in slot 1 of the root bus."""

POLLING: Final = 5
"""Tenths of a second between two looks of the kernel at the temperature."""

LEVELS: Final = tuple(range(101))
"""A backlight's levels are percent, so that the kernel's steps are percent as well."""

FAN_STEPS: Final = ", ".join(
    f"Package () {{ {control}, 0xFFFFFFFF, {rpm}, {noise}, {milliwatts} }}"
    for control, rpm, noise, milliwatts in ((0, 0, 0, 0), (1, 2200, 250, 500), (2, 3600, 380, 900))
)
"""Each with its control value, no trip point, rpm, tenths of a decibel, milliwatts."""


def lid(described: Lid) -> str:
    """The lid switch, called LID0 (ACPI 6.5, 9.4)."""
    return tidy(f"""
        Device (LID0)
        {{
            Name (_HID, EisaId ("PNP0C0D"))
            Method (_LID) {{ {live(VALUES["lid_open"], int(described.open))} }}
        }}
    """)


def thermal_zone(described: Thermal) -> str:
    """A thermal zone with its critical point (ACPI 6.5, 11.4).

    It has no fan of its own: the kernel would stop the fan below the zone's point, and its target
    and its speed would disagree.
    """
    return tidy(f"""
        ThermalZone (\\_TZ.THM0)
        {{
            Name (_TZP, {POLLING})
            Method (_TMP)
            {{
                If (\\_SB.LIVE ()) {{ Return (\\_SB.{VALUES["decikelvin"].name}) }}
                Return ({decikelvin(described.celsius)})
            }}
            Method (_CRT) {{ Return ({decikelvin(described.critical)}) }}
        }}
    """)


def fan(described: Fan) -> str:
    """A fan of three steps, set to the middle one, with its speed (ACPI 6.5, 11.3)."""
    return tidy(f"""
        Device (FAN0)
        {{
            Name (_HID, EisaId ("PNP0C0B"))
            Name (_UID, 0)
            Name (STEP, 1)
            Name (_FIF, Package () {{ 0, 0, 1, 0 }})
            Name (_FPS, Package () {{ 0, {FAN_STEPS} }})
            Name (FSTP, Package () {{ 0, 1, {described.rpm} }})
            Method (_FST, 0, Serialized)
            {{
                FSTP [1] = STEP
                If (LIVE ()) {{ FSTP [2] = {VALUES["rpm"].name} }}
                Return (FSTP)
            }}
            Method (_FSL, 1) {{ STEP = Arg0 }}
        }}
    """)


def light_sensor(described: LightSensor) -> str:
    """An ambient light sensor, in lux (ACPI 6.5, 9.2); its answers are percent of brightness."""
    return tidy(f"""
        Device (ALSD)
        {{
            Name (_HID, "ACPI0008")
            Method (_ALI) {{ {live(VALUES["lux"], described.lux)} }}
            Name (_ALR, Package ()
            {{
                Package () {{ 70, 0 }},
                Package () {{ 100, 300 }},
                Package () {{ 150, 1000 }}
            }})
        }}
    """)


def keyboard_light(described: KeyboardLight) -> str:
    """A keyboard light in percent; the kernel's driver cros_kbd_led_backlight wants this path."""
    return tidy(f"""
        Device (KBLT)
        {{
            Name (_HID, "GOOG0002")
            Name (LEVL, {described.level})
            Method (KBQC) {{ Return (LEVL) }}
            Method (KBCM, 1) {{ LEVL = Arg0 }}
        }}
    """)


def touchpad_line(described: TouchpadLine) -> str:
    """A touchpad by HID over I2C, below a controller that nobody drives (ACPI 6.5, 19.6.62)."""
    return tidy(f"""
        Device (I2CX)
        {{
            Name (_HID, "FE3FFFFF")
        }}
        Device (TPD0)
        {{
            Name (_HID, "{described.hid}")
            Name (_CID, "PNP0C50")
            Name (_CRS, ResourceTemplate ()
            {{
                I2cSerialBusV2 (0x002C, ControllerInitiated, 0x00061A80, AddressingMode7Bit,
                    "\\\\_SB.I2CX", 0x00, ResourceConsumer, , Exclusive, )
            }})
            Method (_STA) {{ Return (0x0F) }}
        }}
    """)


def backlight(described: Backlight) -> str:
    """The panel's backlight below the display adapter (ACPI 6.5, appendix B).

    _BCL begins with the levels for mains and for battery.
    """
    levels = ", ".join(map(str, (100, 50, *LEVELS)))
    return tidy(f"""
        External ({DISPLAY_NODE}, DeviceObj)
        Scope ({DISPLAY_NODE})
        {{
            Method (_DOS, 1) {{ }}
            Name (_DOD, Package () {{ 0x80000400 }})
            Device (LCD0)
            {{
                Name (_ADR, 0x0400)
                Name (LEVL, {described.level})
                Name (_BCL, Package () {{ {levels} }})
                Method (_BCM, 1) {{ LEVL = Arg0 }}
                Method (_BQC) {{ Return (LEVL) }}
            }}
        }}
    """)


def undriven(number: int, hardware_id: str) -> str:
    """A part that is there, whose id no driver of the kernel has (ACPI 6.5, 6.1.5 and 6.3.7)."""
    return tidy(f"""
        Device (UND{number:X})
        {{
            Name (_HID, {quoted(hardware_id)})
            Name (_UID, {number})
            Method (_STA) {{ Return (0x0F) }}
        }}
    """)
