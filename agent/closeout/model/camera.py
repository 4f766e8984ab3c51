"""Cameras, on USB or on the platform's own image bus."""

from __future__ import annotations

from closeout.model.attribute import Shape, about
from closeout.model.device import Device
from closeout.model.frozen import field, frozen
from closeout.model.reading import Reading


@frozen
class Camera(Device):
    """The hardware behind one or more video nodes; `fitted` is False for a unit without sensor."""

    bus: Reading[str] = field(metadata=about("usb, pci or platform"))
    ids: Reading[str] = field(metadata=about("bus ids vendor:product"))
    product: Reading[str] = field(metadata=about("name that its driver tells"))
    serial: Reading[str] = field(
        metadata=about("serial number, of a USB camera that has one", personal=True)
    )
    driver: Reading[str] = field(metadata=about("kernel driver"))
    fitted: Reading[bool] = field(
        metadata=about("it can capture: a sensor stands behind the nodes", Shape.FLAG)
    )
    capture_nodes: Reading[tuple[str, ...]] = field(
        metadata=about("video nodes that give pictures", Shape.TEXTS)
    )
    other_nodes: Reading[tuple[str, ...]] = field(
        metadata=about("video nodes that give metadata or nothing", Shape.TEXTS)
    )
    sensors: Reading[tuple[str, ...]] = field(
        metadata=about("image sensors on the platform's I2C bus that have a driver", Shape.TEXTS)
    )
    covered_by: Reading[tuple[str, ...]] = field(
        metadata=about("switches that say that the lens is covered", Shape.TEXTS)
    )
