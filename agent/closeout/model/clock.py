"""The clocks of the unit: real-time clocks that run while it is off."""

from __future__ import annotations

from closeout.model.attribute import Shape, about
from closeout.model.device import Device
from closeout.model.frozen import field, frozen
from closeout.model.reading import Reading


@frozen
class Clock(Device):
    """One real-time clock.

    The last four are told by the judge, who holds the clock against a reference time of a named
    source; a clock that is under test dates nothing itself.
    """

    chip: Reading[str] = field(metadata=about("driver and device that keep the time"))
    kernel_clock: Reading[bool] = field(
        metadata=about("the kernel took its time from this clock at the start", Shape.FLAG)
    )
    since_epoch_seconds: Reading[int] = field(
        metadata=about(
            "seconds from 1970 to what the clock shows, in the zone it keeps",
            Shape.INTEGER,
            unit="s",
        )
    )
    read_at_microseconds: Reading[int] = field(
        metadata=about(
            "when it showed that, on the running kernel's count since its start",
            Shape.INTEGER,
            unit="µs",
        )
    )
    running: Reading[bool] = field(
        metadata=about("the second was seen to change", Shape.FLAG),
    )
    battery_state: Reading[str] = field(
        metadata=about("okay, or dead: the chip's own flag of a lost supply")
    )
    kept_time: Reading[str] = field(
        metadata=about(
            "universal, local, or what is wrong: reset, first of January, not a date, wrong"
        )
    )
    local_offset: Reading[str] = field(
        metadata=about("how far the zone that it keeps is from UTC, as +02:00")
    )
    error_seconds: Reading[int] = field(
        metadata=about(
            "how far it is from the reference time in the zone it keeps", Shape.INTEGER, unit="s"
        )
    )
    reference: Reading[str] = field(
        metadata=about("the reference time that it was held against, with its source")
    )
