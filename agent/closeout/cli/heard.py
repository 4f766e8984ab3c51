"""What was said before the reading, and the variables that say some of it."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Final

from closeout.cli.trouble import InputTroubleError
from closeout.expect.mistake import quote
from closeout.model.frozen import frozen, replace
from closeout.model.handling import Handling

if TYPE_CHECKING:
    from closeout.cli.terms import Demands
    from closeout.expect.work_order import WorkOrder

STATION: Final = "CLOSEOUT_STATION"
STICK: Final = "CLOSEOUT_STICK"
ORDERS: Final = "CLOSEOUT_ORDERS"
COPY: Final = "work-order.toml"


@frozen
class Heard:
    """What was said before the reading: `order` by its number, from a file or made of scans.

    `order_text` is the copy of one that was made of scans; `repairs` were scanned with it.
    """

    handling: Handling = Handling()
    order: str = ""
    file: Path | None = None
    scanned: WorkOrder | None = None
    order_text: bytes = b""
    repairs: tuple[str, ...] = ()

    def over(self, demands: Demands) -> Demands:
        """The demands with what was said. Raises InputTroubleError for a file of another order."""
        if self.file and demands.order_id != self.order:
            raise InputTroubleError(
                f"{self.file}: it is of order {quote(demands.order_id)}; give the file the name of"
                " its order"
            )
        told = replace(demands, handling=self.handling)
        if self.scanned is None:
            return told
        return replace(told, work_order=self.scanned, order_file={COPY: self.order_text})


NOTHING: Final = Heard()
