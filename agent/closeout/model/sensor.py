"""Sensors of movement, light and nearness (kernel subsystem IIO)."""

from __future__ import annotations

from closeout.model.attribute import Shape, about
from closeout.model.device import Device
from closeout.model.frozen import field, frozen
from closeout.model.reading import Reading


@frozen
class Accelerometer(Device):
    """Acceleration along three axes; of a unit at rest, gravity."""

    sensor: Reading[str] = field(metadata=about("the driver's name of the sensor"))
    seat: Reading[str] = field(metadata=about("where it sits: accel-display, accel-base"))
    x_mm_s2: Reading[int] = field(metadata=about("along x", Shape.INTEGER, unit="mm/s²"))
    y_mm_s2: Reading[int] = field(metadata=about("along y", Shape.INTEGER, unit="mm/s²"))
    z_mm_s2: Reading[int] = field(metadata=about("along z", Shape.INTEGER, unit="mm/s²"))
    magnitude_mm_s2: Reading[int] = field(
        metadata=about("in all, about 9.8 m/s² at rest", Shape.INTEGER, unit="mm/s²")
    )
    mount_matrix: Reading[str] = field(metadata=about("how it is turned against the unit"))
    doubts: Reading[tuple[str, ...]] = field(
        metadata=about("why the acceleration may not be true", Shape.TEXTS)
    )


@frozen
class LightSensor(Device):
    """The light around the unit."""

    sensor: Reading[str] = field(metadata=about("the driver's name of the sensor"))
    seat: Reading[str] = field(metadata=about("where it sits, by its label"))
    illuminance_millilux: Reading[int] = field(
        metadata=about("light now", Shape.INTEGER, unit="mlx")
    )
    doubts: Reading[tuple[str, ...]] = field(
        metadata=about("why the light may not be true", Shape.TEXTS)
    )


@frozen
class ProximitySensor(Device):
    """Whether something is near: a person, a lap, a palm. Most have no unit."""

    sensor: Reading[str] = field(metadata=about("the driver's name of the sensor"))
    seat: Reading[str] = field(metadata=about("where it sits: proximity-palmrest, proximity-lap"))
    level: Reading[int] = field(
        metadata=about("what it counts, more the nearer something is", Shape.INTEGER)
    )
    near_level: Reading[int] = field(
        metadata=about("count from which on something is near", Shape.INTEGER)
    )
    distance_millimetres: Reading[int] = field(
        metadata=about("distance, of a sensor that measures it", Shape.INTEGER, unit="mm")
    )


@frozen
class HingeAngle(Device):
    """The angle between keyboard and screen of a convertible."""

    sensor: Reading[str] = field(metadata=about("the driver's name of the sensor"))
    seat: Reading[str] = field(metadata=about("which angle it is, by its label: hinge"))
    angle_millidegrees: Reading[int] = field(metadata=about("angle now", Shape.INTEGER, unit="m°"))
