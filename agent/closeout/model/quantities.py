"""Units as types; a number becomes one of these where bytes become values, and only there."""

from typing import NewType

MicroWattHours = NewType("MicroWattHours", int)
MicroAmpHours = NewType("MicroAmpHours", int)
MicroVolts = NewType("MicroVolts", int)
Percent = NewType("Percent", int)
Bytes = NewType("Bytes", int)
Millimetres = NewType("Millimetres", int)
MegaTransfers = NewType("MegaTransfers", int)
MilliHertz = NewType("MilliHertz", int)
