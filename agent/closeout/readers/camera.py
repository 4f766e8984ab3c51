"""Cameras: the hardware behind the video nodes, one for each device that has any.

Kernel paths: `sys/class/video4linux/videoN` with `name`, `index` and `dev`
(Documentation/userspace-api/media/v4l/open.rst), sensors as `v4l-subdevN` on an I2C bus
(dev-subdev.rst). A USB camera has a node for pictures and one for metadata each
(metafmt-uvc.rst); udev says which is which, and where it never ran the order does.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Final

from closeout.decode.input_switches import CAMERA_COVER
from closeout.kernel.tree import KernelTree
from closeout.model.camera import Camera
from closeout.model.inventory import Listing
from closeout.model.late_pattern import late_pattern
from closeout.model.reading import Absent, Reading, Value, combine, convert
from closeout.readers.attributes import list_class, list_folder, read_text
from closeout.readers.camera_nodes import NODE, read_captures
from closeout.readers.decoded import collect
from closeout.readers.input_switches import find_inputs, name_input, select_inputs, select_set
from closeout.readers.places import (
    PCI_FUNCTION,
    USB_DEVICE,
    is_made_of_software,
    label_of,
    locate,
    read_position,
)
from closeout.readers.radio import read_bus_id, read_driver
from closeout.readers.reader import Reader

CLASS: Final = "sys/class/video4linux"
NODES: Final = "video4linux"
SUBDEVICE: Final = late_pattern(r"v4l-subdev\d+")
ON_I2C: Final = late_pattern(r"/i2c-\d+/")


def find_cameras(tree: KernelTree) -> Listing:
    """The places of the devices that have video nodes, those made of software left out."""
    listing = list_class(tree, CLASS)
    if not isinstance(listing, Value):
        return listing
    nodes = (locate(tree, f"{CLASS}/{name}") for name in listing.value if NODE.fullmatch(name))
    hard = (node for node in nodes if not is_made_of_software(tree, node))
    places = dict.fromkeys(node.rpartition(f"/{NODES}/")[0] or node for node in hard)
    return Value(value=tuple(places), sources=listing.sources)


def read_camera(tree: KernelTree, place: str) -> Camera:
    """One camera with its nodes sorted."""
    bus = _bus_of(place)
    captures = read_captures(tree, f"{place}/{NODES}", is_usb=bus == "usb")
    sensors = _read_sensors(tree)
    covered = select_set(
        tree, select_inputs(tree, find_inputs(tree), {CAMERA_COVER}, frozenset()), {CAMERA_COVER}
    )
    return Camera(
        place=place,
        label=_label(captures, place),
        position=read_position(tree, place),
        bus=Value(value=bus, sources=(place,)),
        ids=read_bus_id(tree, place),
        product=_read_product(tree, place),
        serial=_read_serial(tree, place, bus),
        driver=read_driver(tree, place),
        fitted=_read_fitted(captures, sensors, bus),
        capture_nodes=convert(captures, lambda found: _nodes(found, wanted=True)),
        other_nodes=convert(captures, lambda found: _nodes(found, wanted=False)),
        sensors=_no_sensors(place) if bus == "usb" else sensors,
        covered_by=convert(covered, lambda found: tuple(name_input(tree, one) for one in found)),
    )


def _bus_of(place: str) -> str:
    """USB before PCI, behind which it sits."""
    parts = place.split("/")
    if any(USB_DEVICE.fullmatch(part) for part in parts):
        return "usb"
    return "pci" if any(PCI_FUNCTION.fullmatch(part) for part in parts) else "platform"


def _label(captures: Reading[Mapping[str, bool]], place: str) -> str:
    """The first node that gives pictures, which is what programs list."""
    if not isinstance(captures, Value):
        return label_of(place)
    chosen = (*_nodes(captures.value, wanted=True), *captures.value)
    return chosen[0] if chosen else label_of(place)


def _nodes(captures: Mapping[str, bool], *, wanted: bool) -> tuple[str, ...]:
    return tuple(node for node, gives in captures.items() if gives is wanted)


def _read_product(tree: KernelTree, place: str) -> Reading[str]:
    listing = list_folder(tree, f"{place}/{NODES}")
    if not isinstance(listing, Value):
        return listing
    for name in listing.value:
        if NODE.fullmatch(name):
            return read_text(tree, f"{place}/{NODES}/{name}/name")
    return Absent(reason="the device has no video node", sources=listing.sources)


def _read_serial(tree: KernelTree, place: str, bus: str) -> Reading[str]:
    if bus != "usb":
        return Absent(reason="only a USB camera has one", sources=(place,))
    return read_text(tree, f"{place.rpartition('/')[0]}/serial")


def _read_sensors(tree: KernelTree) -> Reading[tuple[str, ...]]:
    """The sensors of the whole unit: which image unit takes whose picture no file tells."""
    listing = list_class(tree, CLASS)
    if not isinstance(listing, Value):
        return listing
    names = (name for name in listing.value if SUBDEVICE.fullmatch(name))
    places = (locate(tree, f"{CLASS}/{name}") for name in names)
    return collect(_names(tree, places), listing.sources)


def _names(tree: KernelTree, places: Iterable[str]) -> Iterable[Reading[tuple[str, ...]]]:
    for place in places:
        if ON_I2C.search(place):
            yield convert(read_text(tree, f"{place}/name"), lambda name: (name,))


def _no_sensors(place: str) -> Absent:
    return Absent(reason="a USB camera has its sensor behind its own controller", sources=(place,))


def _read_fitted(
    captures: Reading[Mapping[str, bool]], sensors: Reading[tuple[str, ...]], bus: str
) -> Reading[bool]:
    """An image unit of the platform captures nothing without a sensor that has a driver."""
    gives = convert(captures, lambda found: any(found.values()))
    if bus == "usb":
        return gives
    seen = convert(sensors, bool)
    return combine(seen, gives, _both) if not _is_no(seen) else seen


def _is_no(reading: Reading[bool]) -> bool:
    return isinstance(reading, Value) and not reading.value


def _both(one: bool, other: bool) -> bool:  # noqa: FBT001 - joins two readings
    return one and other


READERS: Final = (Reader(kind="camera", find=find_cameras, read=read_camera),)
