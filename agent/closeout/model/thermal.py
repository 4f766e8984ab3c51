"""Temperatures and fans, as the kernel's hardware monitoring and thermal classes show them."""

from __future__ import annotations

from closeout.model.attribute import Shape, about
from closeout.model.device import Device
from closeout.model.frozen import field, frozen
from closeout.model.reading import Reading


@frozen
class Temperature(Device):
    """One channel of a monitoring chip, or one thermal zone; never the same sensor twice."""

    chip: Reading[str] = field(metadata=about("the driver's name of the chip, the zone's type"))
    channel: Reading[str] = field(metadata=about("channel of the chip: temp1; zone of a zone"))
    sensor: Reading[str] = field(metadata=about("the driver's label, else the channel"))
    belongs_to: Reading[str] = field(metadata=about("kernel name of the device it sits on"))
    now_millicelsius: Reading[int] = field(
        metadata=about("temperature now", Shape.INTEGER, unit="m°C")
    )
    max_millicelsius: Reading[int] = field(
        metadata=about("highest temperature that is wanted", Shape.INTEGER, unit="m°C")
    )
    critical_millicelsius: Reading[int] = field(
        metadata=about("temperature at which the unit switches off", Shape.INTEGER, unit="m°C")
    )
    alarm: Reading[bool] = field(metadata=about("the chip reports a limit passed", Shape.FLAG))
    fault: Reading[bool] = field(metadata=about("the chip reports its sensor broken", Shape.FLAG))
    doubts: Reading[tuple[str, ...]] = field(
        metadata=about("why the temperature may not be true", Shape.TEXTS)
    )


@frozen
class Fan(Device):
    """One fan: a channel of a monitoring chip, or a fan of the firmware."""

    chip: Reading[str] = field(metadata=about("the driver's name of the chip; firmware"))
    channel: Reading[str] = field(metadata=about("channel of the chip: fan1; fan of the firmware"))
    sensor: Reading[str] = field(metadata=about("the driver's label, else the channel"))
    belongs_to: Reading[str] = field(metadata=about("kernel name of the device it sits on"))
    speed_rpm: Reading[int] = field(metadata=about("speed now", Shape.INTEGER, unit="rpm"))
    target_rpm: Reading[int] = field(
        metadata=about("speed that is asked for", Shape.INTEGER, unit="rpm")
    )
    min_rpm: Reading[int] = field(metadata=about("lowest speed", Shape.INTEGER, unit="rpm"))
    max_rpm: Reading[int] = field(metadata=about("highest speed", Shape.INTEGER, unit="rpm"))
    alarm: Reading[bool] = field(metadata=about("the chip reports a limit passed", Shape.FLAG))
    fault: Reading[bool] = field(metadata=about("the chip reports the fan broken", Shape.FLAG))
    cooling_step: Reading[int] = field(
        metadata=about("step of the cooling device now", Shape.INTEGER)
    )
    most_cooling_steps: Reading[int] = field(
        metadata=about("highest step of the cooling device", Shape.INTEGER)
    )
    doubts: Reading[tuple[str, ...]] = field(
        metadata=about("why the speed may not be true", Shape.TEXTS)
    )
