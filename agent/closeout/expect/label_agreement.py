"""The label that was scanned off the unit, as the order would have it."""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType
from typing import Final

from closeout.expect.label_format import AS_IT_STANDS, LabelFormat
from closeout.expect.scan import Settled, settle, tidy

SERIAL_FIELD: Final = "serial"
NO_FORMATS: Final[Mapping[str, LabelFormat]] = MappingProxyType({})


def read_scanned_label(
    typed: str, serial: str, labels: Mapping[str, LabelFormat] = NO_FORMATS
) -> str:
    """The order's serial where the label agrees with it, in either case; else what the label says.

    `labels` is how the model's label shows each field of the unit; `serial` is empty where the
    order names none.
    """
    form = labels.get(SERIAL_FIELD, AS_IT_STANDS)
    as_ordered = serial.strip().casefold()

    def agrees(text: str) -> bool:
        return form.apply(text).casefold() == as_ordered

    if as_ordered and isinstance(settle(typed, agrees), Settled):
        return serial
    return form.apply(tidy(typed))
