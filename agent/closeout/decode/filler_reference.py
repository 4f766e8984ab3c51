"""Values that reference firmware ships and makers leave in, which no rule can tell.

Source: counts over the public linuxhw DMI collection and public SMBIOS dumps (linuxhw project,
CC-BY-4.0). The table stays at thirty values or fewer; whatever a rule can say belongs to a rule.
"""

from __future__ import annotations

from typing import Final

from closeout.decode.filler_text import FieldText, Kind
from closeout.model.late_pattern import late_pattern

BATTERY_VALUES: Final = frozenset(
    {
        "01012012",
        "07072010",
        "08082010",
        "081197",
        "10312006",
        "2010",
        "intelsr1",
        "nikonultraplus",
        "real2",
        "smartver0123",
        "srrealbattery",
    }
)
"""Texts of portable batteries (type 22) that are the same in machines of many makers."""

IDENTITY_VALUES: Final = frozenset(
    {
        "03142563",
        "5ekpm18320000397",
        "890e2d14cacd45d1ae66bc80e8bfeb0f",
        "intelmobile",
    }
)
"""Serials, UUIDs and names that many machines share."""

PLATFORM_VALUES: Final = frozenset(
    {
        "apollolake",
        "baytrail",
        "braswell",
        "calpella",
        "cedartrail",
        "cherrytrail",
        "chiefriver",
        "huronriver",
        "mahobay",
        "montevina",
        "napa",
        "santarosa",
        "sharkbay",
        "skybay",
        "sugarbay",
    }
)
"""Names of chip makers' platforms, with or without a word from `PLATFORM_ENDING` behind."""

PLATFORM_ENDING: Final = late_pattern(r"(?:client)?(?:platform|system|crb|fab|cr|mrd)$")
PLATFORM_NAME: Final = late_pattern(r"[a-z]{3,12}(?:bay|bridge|lake|river|trail|well)")
NAMES: Final = frozenset({Kind.NAME, Kind.SKU, Kind.VERSION})


def is_reference_value(text: FieldText) -> bool:
    """A value of the table."""
    values = BATTERY_VALUES if text.structure == "portablebattery" else IDENTITY_VALUES
    return text.squeezed in values


def is_virtual_battery(text: FieldText) -> bool:
    """`-Virtual Battery 0-`: the battery of a firmware simulation."""
    return text.structure == "portablebattery" and text.letters == "virtualbattery"


def is_reference_board(text: FieldText) -> bool:
    """A chip maker's platform or reference board (CRB, RVP) in place of a product."""
    if text.kind not in NAMES:
        return False
    name = PLATFORM_ENDING.sub("", text.squeezed)
    if name in PLATFORM_VALUES:
        return True
    if len(text.chunks) > 1 and text.chunks[-1] in {"crb", "rvp"}:
        return True
    return name != text.squeezed and PLATFORM_NAME.fullmatch(name) is not None
