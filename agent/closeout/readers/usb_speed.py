"""Whether a USB device runs below what it and its port can do.

Kernel paths below `sys/bus/usb/devices/B-P`: `speed` in Mbit/s, `version` (bcdUSB),
`bos_descriptors` (since Linux 6.10), `port/peer` (Documentation/ABI/testing/sysfs-bus-usb). A
device that can do SuperSpeed says so in its object store; at high speed its version reads 2.10
(USB 3.2, section 9.6.1).
"""

from __future__ import annotations

from typing import Final

from closeout.decode.failure import DecodeError
from closeout.decode.usb_abilities import can_super_speed, decode_capabilities
from closeout.kernel.failure import ReadError
from closeout.kernel.tree import KernelTree
from closeout.model.reading import Absent, Reading, Unreadable, Value, convert
from closeout.readers.attributes import no_value, read_bytes, read_text, understand
from closeout.readers.places import locate

SUPER_SPEED_MBIT: Final = 5000
STORE_SINCE: Final = 2.01
"""bcdUSB of the first devices that have an object store (USB 2.0 ECN Link Power Management)."""
UNTOLD: Final = "this kernel does not show what the device can do"


def read_below_ability(tree: KernelTree, place: str) -> Reading[bool]:
    """Device and port can do SuperSpeed, and the link does not run at it."""
    speed = understand(read_text(tree, f"{place}/speed"), "a speed in Mbit/s", _number)
    if not isinstance(speed, Value):
        return speed
    if speed.value >= SUPER_SPEED_MBIT:
        return Value(value=False, sources=speed.sources)
    device = _can_device(tree, place)
    if not (isinstance(device, Value) and device.value):
        return device
    port = _has_other_half(tree, place)
    return convert(port, lambda able: able)


def _can_device(tree: KernelTree, place: str) -> Reading[bool]:
    store = convert(read_bytes(tree, f"{place}/bos_descriptors"), _can_super_speed)
    if isinstance(store, Value):
        if store.value is None:
            return Unreadable(
                error="MALFORMED", advice="an object store was expected", sources=store.sources
            )
        return Value(value=store.value, sources=store.sources)
    if not isinstance(store, Absent):
        return store
    version = understand(read_text(tree, f"{place}/version"), "a release of USB", _number)
    if isinstance(version, Value) and version.value >= STORE_SINCE:
        return Absent(reason=UNTOLD, sources=store.sources + version.sources)
    return convert(version, lambda _: False)


def _can_super_speed(raw: bytes) -> bool | None:
    try:
        return can_super_speed(decode_capabilities(raw))
    except DecodeError:
        return None


def _has_other_half(tree: KernelTree, place: str) -> Reading[bool]:
    """A port without a peer has contacts of USB 2 alone."""
    link = f"{locate(tree, f'{place}/port')}/peer"
    try:
        tree.target(link)
    except ReadError as failure:
        gone = no_value(failure)
        return Value(value=False, sources=gone.sources) if isinstance(gone, Absent) else gone
    return Value(value=True, sources=(link,))


def _number(text: str) -> float | None:
    try:
        return float(text)
    except ValueError:
        return None
