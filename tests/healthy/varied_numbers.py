"""Names and numbers that a kernel gives in the order in which it finds things.

None of them lasts from one start to the next (Documentation/admin-guide/devices.rst and
Documentation/ABI/testing for each class); memory modules and buses move with the board's layout.
"""

import re
from typing import Final

from healthy.shown_unit import Change, ShownUnit, renames, swaps, together
from healthy.variation import Stage, Variation, vary

SOUND_ONE: Final = (
    (r"(?<=asound/)card0", "card1"),
    (r"(?<=sound/)card0", "card1"),
    (r"(controlC|hwC|pcmC|hdaudioC)0(?!\d)", r"\g<1>1"),
)


def _minor(found: re.Match[str]) -> str:
    """The event node's number in `13:64+N`."""
    moved = {"71": "67", "67": "71"}
    return f"13:{moved.get(found[1], found[1])}"


def sound_card_second(unit: ShownUnit) -> ShownUnit:
    """The built-in sound as card 1: something else was faster."""
    unit = together(*(renames(old, new) for old, new in SOUND_ONE[2:]))(unit)
    unit = renames(r"(?<=sound/)card0\b", "card1")(unit)
    unit = renames(r"\bcard0\b", "card1", within="sys/class/sound")(unit)
    unit = renames(r"^card: 0", "card: 1", within="proc/asound/card1")(unit)
    unit = renames(r"^ 0 \[", " 1 [", within="proc/asound/cards")(unit)
    return renames(r"(?m)^00-", "01-", within="proc/asound/pcm")(unit)


def _numbered(name: str, change: Change, *touches: str) -> Variation:
    return vary(name, change, *touches, stage=Stage.NUMBERS)


VARIATIONS: Final[tuple[Variation, ...]] = (
    _numbered("radio named by its slot", renames(r"\bwlan0\b", "wlp2s0"), "radio name"),
    _numbered("radio second of two names", renames(r"\bwlan0\b", "wlan1"), "radio name"),
    _numbered("radio named by its address", renames(r"\bwlan0\b", "wlx3c1a9f310841"), "radio name"),
    _numbered("radio as phy1", renames(r"\bphy0\b", "phy1")),
    _numbered("pack as BAT1", renames(r"\bBAT0\b", "BAT1")),
    _numbered("adapter as ADP1", renames(r"\bAC0\b|\bAC0_", "ADP1")),
    _numbered("drive as nvme1", renames(r"\bnvme0(?=n1\b|\b)", "nvme1")),
    _numbered("drive behind another bus number", renames(r"0000:01:00\.0", "0000:05:00.0")),
    _numbered(
        "sensors found in another order",
        together(swaps(r"\bhwmon(\d+)", "0", "6"), swaps(r"\bhwmon(\d+)", "3", "5")),
        "hwmon",
    ),
    _numbered("sensors counted from 10", renames(r"\bhwmon(?=\d)", "hwmon1"), "hwmon"),
    _numbered(
        "inputs found in another order",
        together(swaps(r"\binput(\d+)", "0", "8"), swaps(r"\binput(\d+)", "4", "7")),
        "input",
    ),
    _numbered("inputs counted from 20", renames(r"\binput(?=\d)", "input2"), "input"),
    _numbered(
        "event nodes in another order",
        together(swaps(r"\bevent(\d+)", "7", "3"), renames(r"\b13:(\d+)", _minor)),
    ),
    _numbered("graphics as card1", renames(r"\bcard0\b", "card1", within="drm"), "card"),
    _numbered("sound as card 1", sound_card_second),
    _numbered("radio switches in another order", swaps(r"\brfkill(\d)", "0", "1")),
    _numbered("Bluetooth as hci1", renames(r"\bhci0\b", "hci1")),
    _numbered(
        "camera nodes after others",
        together(renames(r"\bvideo([01])\b", r"video1\1"), renames(r"\b81:([01])\b", r"81:1\1")),
    ),
    _numbered("charging port as port2", renames(r"\bport0\b", "port2", within="typec")),
    _numbered("thermal zone 3", renames(r"\bthermal_zone0\b", "thermal_zone3")),
    _numbered("iio devices in another order", swaps(r"\biio:device(\d)", "0", "1")),
    _numbered(
        "USB buses counted from 3",
        together(
            renames(r"\busb([12])\b", lambda found: f"usb{int(found[1]) + 2}", within="usb"),
            renames(r"(?<=/)([12])-(?=\d)", lambda found: f"{int(found[1]) + 2}-", within="/usb"),
            renames(r"^([12])-(?=\d)", lambda found: f"{int(found[1]) + 2}-", within="sys/bus/usb"),
            renames(r"^([12])-(?=[\d.])", lambda found: f"{int(found[1]) + 2}-", within="/usb"),
        ),
        "usb",
    ),
    _numbered(
        "I2C buses in another order",
        renames(
            r"\bi2c-1\b|(?<=/)1-(?=00)|^1-(?=00)",
            lambda found: found[0].replace("1", "7"),
            within="i2c",
        ),
        "i2c",
    ),
    _numbered("clock as rtc1", renames(r"\brtc0\b", "rtc1")),
    _numbered("TPM as tpm1", renames(r"\btpm0\b", "tpm1")),
    _numbered("backlight of the graphics driver", renames(r"\bacpi_video0\b", "fen_backlight")),
    _numbered("HID counted on", renames(r"(?<=:0214)\.0001\b", ".001F")),
    _numbered(
        "memory module in the other slot",
        renames(r"SODIMM ([AB])", lambda found: f"SODIMM {'AB'.replace(found[1], '')}"),
    ),
)
