"""What the emulator is told about the USB controller and what is plugged into it.

`qemu-xhci` has at most 15 ports of each speed. Port N of the controller is `1-N` for a device of
low, full or high speed and, up to `SUPER_PORTS`, `2-N` for one of super speed, which a stick is.
Devices of the emulator's own have its own ids and names; only their serial can be told.
"""

import json
from collections.abc import Iterable, Iterator, Mapping
from pathlib import Path
from typing import Any, Final

from notebook.description import DescriptionError, UsbDevice

HIGH_PORTS: Final = 15
SUPER_PORTS: Final = 4
SLOT: Final = 6
CONTROLLER: Final = f"qemu-xhci,id=xhci,p2={HIGH_PORTS},p3={SUPER_PORTS},addr={SLOT}"

REDIRECTED: Final = frozenset({"vendor", "camera", "bluetooth", "card_reader"})
"""Kinds that this package answers for; they are built in."""
DRIVERS: Final = {
    "stick": "usb-storage",
    "keyboard": "usb-kbd",
    "tablet": "usb-tablet",
    "hub": "usb-hub",
    "network": "usb-net",
}
STICK_SIZE: Final = 64 << 20

MODULES: Final = (
    "xhci_pci",
    "uvcvideo",
    "btusb",
    "usb_storage",
    "sd_mod",
    "usbhid",
    "hid_generic",
    "cdc_ether",
)
"""What Debian's kernel needs for all kinds; what these depend on is in its `modules.dep`."""

Command = tuple[str, dict[str, Any]]
"""A command of the emulator's machine protocol with its arguments."""


def usb_arguments(devices: Mapping[str, UsbDevice], folder: Path) -> list[str]:
    """The controller and every device on it, as arguments; sockets and images are in the folder."""
    arguments = ["-device", CONTROLLER]
    for name, device in devices.items():
        if device.kind in REDIRECTED:
            place = str(socket_place(name, folder)).replace(",", ",,")
            arguments += ["-chardev", f"socket,id=usb-{name}-line,path={place},server=on,wait=off"]
        if device.kind == "stick":
            arguments += ["-blockdev", json.dumps(_medium(name, folder))]
        if device.kind == "network":
            arguments += ["-netdev", json.dumps(_network(name))]
        arguments += ["-device", json.dumps(_device(name, device))]
    return arguments


def plug_commands(name: str, device: UsbDevice, folder: Path) -> Iterator[Command]:
    """What puts a device into the running machine."""
    if device.kind in REDIRECTED:
        address = {"type": "unix", "data": {"path": str(socket_place(name, folder))}}
        backend = {"type": "socket", "data": {"addr": address, "server": True, "wait": False}}
        yield "chardev-add", {"id": f"usb-{name}-line", "backend": backend}
    if device.kind == "stick":
        yield "blockdev-add", _medium(name, folder)
    if device.kind == "network":
        yield "netdev_add", _network(name)
    yield "device_add", _device(name, device)


def unplug_commands(name: str, device: UsbDevice) -> Iterator[Command]:
    """What takes a device out; wait for its DEVICE_DELETED after the first.

    A redirected device's socket goes with it; a stick's medium and an adapter's net do not.
    """
    yield "device_del", {"id": f"usb-{name}"}
    if device.kind == "stick":
        yield "blockdev-del", {"node-name": f"usb-{name}-medium"}
    if device.kind == "network":
        yield "netdev_del", {"id": f"usb-{name}-net"}


def unconnected(chardevs: Iterable[Mapping[str, Any]]) -> tuple[str, ...]:
    """Which devices are not connected yet, out of the answer to `query-chardev`.

    A snapshot may be taken in only when there is none: the emulator then goes on with the
    sessions of the template, and the guest notices nothing. A device that comes later is unplugged
    and plugged in, as the guest sees it.
    """
    return tuple(
        chardev["label"].removeprefix("usb-").removesuffix("-line")
        for chardev in chardevs
        if chardev["label"].startswith("usb-") and chardev["filename"].startswith("disconnected:")
    )


def socket_place(name: str, folder: Path) -> Path:
    """Where the emulator listens for a device."""
    return folder / f"usb-{name}.sock"


def stick_place(name: str, folder: Path) -> Path:
    """The image of a stick."""
    return folder / f"usb-{name}.raw"


def lay_out_stick(name: str, folder: Path) -> None:
    """Makes an empty image for a stick that has none."""
    place = stick_place(name, folder)
    if not place.exists():
        with place.open("wb") as image:
            image.truncate(STICK_SIZE)


def _medium(name: str, folder: Path) -> dict[str, Any]:
    file = {"driver": "file", "filename": str(stick_place(name, folder))}
    return {"node-name": f"usb-{name}-medium", "driver": "raw", "file": file}


def _device(name: str, device: UsbDevice) -> dict[str, Any]:
    if not 1 <= device.port <= HIGH_PORTS:
        raise DescriptionError(f"usb.{name}.port: {device.port}, the last is {HIGH_PORTS}")
    place = {"id": f"usb-{name}", "bus": "xhci.0", "port": str(device.port)}
    if device.kind in REDIRECTED:
        return {"driver": "usb-redir", **place, "chardev": f"usb-{name}-line"}
    if device.ids or device.maker or device.product:
        raise DescriptionError(f"usb.{name}: a {device.kind} has the emulator's ids and names")
    serial = {"serial": device.serial} if device.serial else {}
    medium = {"drive": f"usb-{name}-medium"} if device.kind == "stick" else {}
    net = {"netdev": f"usb-{name}-net", "mac": device.address} if device.kind == "network" else {}
    return {"driver": DRIVERS[device.kind], **place, **serial, **medium, **net}


def _network(name: str) -> dict[str, Any]:
    return {"type": "user", "id": f"usb-{name}-net", "restrict": True}
