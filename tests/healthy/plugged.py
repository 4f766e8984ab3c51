"""Devices that people plug in, as the kernel shows them below a USB port that faces outwards.

Shapes: Documentation/ABI/testing/sysfs-bus-usb, sysfs-class-input, sysfs-class-net; an input, a
camera and a radio beside them are shown as the unit's own are, copied from there.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

from closeout.kernel.record import Kind, Question
from healthy.shown_unit import Change, NotShownError, ShownUnit, draws, says, together

BUS: Final = "sys/bus/usb/devices"
PORT_FORM: Final = "{root}/1-0:1.0/usb1-port{port}"


@dataclass(frozen=True, slots=True, kw_only=True)
class Plugged:
    """A USB device; interfaces are triples with the driver that is bound to each."""

    ids: str
    maker: str
    product: str
    interfaces: tuple[tuple[str, str], ...]
    speed: int = 480
    device_class: str = "00"


def root_of(unit: ShownUnit) -> str:
    """The folder of the first bus."""
    root = unit.answers.get(Question(Kind.TARGET, f"{BUS}/usb1"))
    if not isinstance(root, str):
        raise NotShownError("usb1")
    return root


def place_of(unit: ShownUnit, address: str) -> str:
    """The folder of a device at an address such as `1-2.1`."""
    ports = address.removeprefix("1-").split(".")
    steps = ["1-" + ".".join(ports[:count]) for count in range(1, len(ports) + 1)]
    return "/".join([root_of(unit), *steps])


def plug(address: str, device: Plugged) -> Change:
    """The device in a port of the unit, or of the hub that is plugged in there."""

    def change(unit: ShownUnit) -> ShownUnit:
        place = place_of(unit, address)
        vendor, product = device.ids.split(":")
        files = {
            f"{place}/idVendor": vendor,
            f"{place}/idProduct": product,
            f"{place}/bcdDevice": "0102",
            f"{place}/bDeviceClass": device.device_class,
            f"{place}/manufacturer": device.maker,
            f"{place}/product": device.product,
            f"{place}/speed": str(device.speed),
            f"{place}/version": " 2.00",
            f"{place}/removable": "removable",
        }
        links = {f"{BUS}/{address}": place}
        for number, (triple, driver) in enumerate(device.interfaces):
            name = f"{address}:1.{number}"
            interface = f"{place}/{name}"
            links[f"{BUS}/{name}"] = interface
            links[f"{interface}/driver"] = f"sys/bus/usb/drivers/{driver}"
            sorts = ("Class", "SubClass", "Protocol")
            for sort, code in zip(sorts, triple.split("/"), strict=True):
                files[f"{interface}/bInterface{sort}"] = code
            files[f"{interface}/uevent"] = f"DEVTYPE=usb_interface\nDRIVER={driver}"
        return together(_in_port(unit, address, place), draws(files, links))(unit)

    return change


def _in_port(unit: ShownUnit, address: str, place: str) -> Change:
    """The port shows what is in it; the ports of a hub are not drawn."""
    port = address.removeprefix("1-")
    if "." in port:
        return lambda same: same
    folder = PORT_FORM.format(root=root_of(unit), port=port)
    if unit.answers.get(Question(Kind.READ, f"{folder}/connect_type")) != b"hotplug\n":
        raise NotShownError(folder)
    links = {f"{folder}/device": place, f"{place}/port": folder}
    return together(says(f"{folder}/state", "configured"), draws({}, links))


def play_input(address: str, interface: int, like: str, number: int, name: str) -> Change:
    """An input on an interface, able to do what one of the unit's own can do."""

    def change(unit: ShownUnit) -> ShownUnit:
        own = _own_input(unit, like)
        device = f"{place_of(unit, address)}/{address}:1.{interface}/0003:FE41:0101.{number:04X}"
        place = f"{device}/input/input{number}"
        files: dict[str, str | bytes] = {
            f"{place}/{question.text.removeprefix(f'{own}/')}": answer
            for question, answer in unit.answers.items()
            if question.kind is Kind.READ
            and question.text.startswith(f"{own}/")
            and isinstance(answer, bytes)
        }
        modalias = files[f"{place}/modalias"]
        assert isinstance(modalias, bytes)
        files |= {
            f"{place}/modalias": b"input:b0003" + modalias.removeprefix(b"input:b0011"),
            f"{place}/id/bustype": "0003",
            f"{place}/id/vendor": "fe41",
            f"{place}/id/product": "0101",
            f"{place}/name": name,
            f"{device}/uevent": "DRIVER=hid-generic\nHID_ID=0003:0000FE41:00000101",
            f"{device}/report_descriptor": b"\x05\x01\x09\x06\xa1\x01\xc0",
            f"run/udev/data/+input:input{number}": _udev_of(unit, own),
        }
        links = {
            f"sys/class/input/input{number}": place,
            f"{place}/device": device,
            f"{device}/driver": "sys/bus/hid/drivers/hid-generic",
            f"{device}/subsystem": "sys/bus/hid",
            f"sys/bus/hid/devices/0003:FE41:0101.{number:04X}": device,
        }
        return draws(files, links)(unit)

    return change


def _own_input(unit: ShownUnit, name: str) -> str:
    for question, answer in unit.answers.items():
        if question.text.endswith("/name") and answer == f"{name}\n".encode():
            return question.text.removesuffix("/name")
    raise NotShownError(name)


def _udev_of(unit: ShownUnit, own: str) -> bytes:
    label = own.rsplit("/", 1)[-1]
    answer = unit.answers.get(Question(Kind.READ, f"run/udev/data/+input:{label}"), b"")
    assert isinstance(answer, bytes)
    return answer.replace(b"ID_BUS=i8042", b"ID_BUS=usb")


def block(name: str, place: str, files: Mapping[str, str]) -> Change:
    """A disk below a place."""
    folder = f"{place}/block/{name}"
    drawn = {f"{folder}/{path}": content for path, content in files.items()}
    return draws(drawn, {f"sys/block/{name}": folder, f"{folder}/device": place})
