"""Values that reference firmware ships and makers leave in: no rule can tell them.

Source: counts over the public linuxhw DMI collection (CC-BY-4.0, the linuxhw project), where each
of them appears on machines of several makers; at most thirty are kept here.
"""

import re
from typing import Final

from closeout.decode.filler_text import FieldText, Kind

REFERENCE_VALUES: Final = frozenset(
    {
        (Kind.DATE, "08082010"),
        (Kind.DATE, "07072010"),
        (Kind.DATE, "01012012"),
        (Kind.DATE, "10312006"),
        (Kind.DATE, "081197"),
        (Kind.DATE, "2010"),
        (Kind.MAKER, "virtualbattery0"),
        (Kind.MAKER, "intelsr1"),
        (Kind.NAME, "srrealbattery"),
        (Kind.NAME, "nikonultraplus"),
        (Kind.PLACE, "real2"),
        (Kind.VERSION, "smartver0123"),
        (Kind.NAME, "intelmobile"),
        (Kind.SERIAL, "03142563"),
        (Kind.SERIAL, "5ekpm18320000397"),
        (Kind.UUID, "890e2d14cacd45d1ae66bc80e8bfeb0f"),
    }
)
PLATFORM: Final = re.compile(
    r"(?:[a-z]+ ?(?:bay|river|trail|lake|bridge|well)[ _-]?)(?:client )?(?:platform|system|cr|mrd)"
)


def is_reference_value(text: FieldText) -> bool:
    """A value of the table."""
    return (text.kind, text.squeezed) in REFERENCE_VALUES


def is_reference_board(text: FieldText) -> bool:
    """The name of a chip maker's reference board: `… CRB`, `… River Platform`."""
    if text.kind not in {Kind.NAME, Kind.SKU}:
        return False
    named = text.chunks[-1:] in {("crb",), ("rvp",)} and len(text.chunks) > 1
    return named or PLATFORM.fullmatch(text.trimmed) is not None
