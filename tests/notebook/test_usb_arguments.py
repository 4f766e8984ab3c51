"""What the emulator is told about USB: one controller, each device at its port, no other id."""

import json
from itertools import pairwise
from pathlib import Path

import pytest

from notebook.description import DescriptionError, UsbDevice, load_notebook
from notebook.usb_arguments import (
    CONTROLLER,
    plug_commands,
    unconnected,
    unplug_commands,
    usb_arguments,
)

FOLDER = Path("/somewhere/a,b")
STICK = UsbDevice(port=2, kind="stick", serial="ST,1")
OWN = {
    "stick": STICK,
    "keyboard": UsbDevice(port=12, kind="keyboard"),
    "tablet": UsbDevice(port=14, kind="tablet", serial="T9"),
    "hub": UsbDevice(port=15, kind="hub"),
    "network": UsbDevice(port=1, kind="network", address="3c:1a:9f:20:77:60"),
}


def devices_in(arguments: list[str]) -> list[dict[str, str]]:
    told = [after for option, after in pairwise(arguments) if option == "-device"]
    return [json.loads(each) for each in told if each.startswith("{")]


def test_a_notebook_without_devices_has_the_controller() -> None:
    assert usb_arguments({}, FOLDER) == ["-device", CONTROLLER]


def test_devices_of_our_own_are_redirected() -> None:
    devices = load_notebook("fen-14").usb
    assert usb_arguments({"reader": devices["fingerprint"]}, FOLDER)[2:4] == [
        "-chardev",
        "socket,id=usb-reader-line,path=/somewhere/a,,b/usb-reader.sock,server=on,wait=off",
    ]
    assert devices_in(usb_arguments(devices, FOLDER)) == [
        {
            "driver": "usb-redir",
            "id": f"usb-{name}",
            "bus": "xhci.0",
            "port": port,
            "chardev": f"usb-{name}-line",
        }
        for name, port in (("fingerprint", "4"), ("camera", "6"), ("bluetooth", "8"))
    ]


def test_devices_of_the_emulators_own() -> None:
    arguments = usb_arguments(OWN, FOLDER)
    assert [device["driver"] for device in devices_in(arguments)] == [
        "usb-storage",
        "usb-kbd",
        "usb-tablet",
        "usb-hub",
        "usb-net",
    ]
    assert [device.get("serial") for device in devices_in(arguments)] == [
        "ST,1",
        None,
        "T9",
        None,
        None,
    ]
    medium = json.loads(arguments[arguments.index("-blockdev") + 1])
    assert medium == {
        "node-name": "usb-stick-medium",
        "driver": "raw",
        "file": {"driver": "file", "filename": "/somewhere/a,b/usb-stick.raw"},
    }
    assert devices_in(arguments)[0]["drive"] == "usb-stick-medium"


@pytest.mark.parametrize("port", [0, 16])
def test_a_port_that_is_not_there_is_refused(port: int) -> None:
    with pytest.raises(DescriptionError, match=rf"usb\.hub\.port: {port}, the last is 15"):
        usb_arguments({"hub": UsbDevice(port=port, kind="hub")}, FOLDER)


def test_names_that_cannot_be_shown_are_refused() -> None:
    with pytest.raises(DescriptionError, match="a stick has the emulator's ids and names"):
        usb_arguments({"s": UsbDevice(port=1, kind="stick", maker="Tessery")}, FOLDER)


def test_a_redirected_device_is_plugged_with_a_new_socket() -> None:
    reader = load_notebook("fen-14").usb["fingerprint"]
    (line, told), (plug, device) = plug_commands("reader", reader, FOLDER)
    assert (line, plug) == ("chardev-add", "device_add")
    assert told["id"] == device["chardev"]
    assert told["backend"]["data"]["addr"]["data"]["path"] == "/somewhere/a,b/usb-reader.sock"
    assert list(unplug_commands("reader", reader)) == [("device_del", {"id": device["id"]})]


def test_a_stick_is_plugged_with_its_medium() -> None:
    (medium, told), (plug, device) = plug_commands("s", STICK, FOLDER)
    assert (medium, plug) == ("blockdev-add", "device_add")
    assert told["node-name"] == device["drive"]
    assert list(unplug_commands("s", STICK)) == [
        ("device_del", {"id": device["id"]}),
        ("blockdev-del", {"node-name": told["node-name"]}),
    ]


def test_plugging_says_what_the_arguments_say() -> None:
    for name, device in (OWN | dict(load_notebook("fen-14").usb)).items():
        *_, (_, plugged) = plug_commands(name, device, FOLDER)
        assert devices_in(usb_arguments({name: device}, FOLDER)) == [plugged]


def test_an_adapter_has_its_address_and_a_net_of_its_own() -> None:
    adapter = OWN["network"]
    (net, told), (plug, device) = plug_commands("dock", adapter, FOLDER)
    assert (net, plug) == ("netdev_add", "device_add")
    assert (device["netdev"], device["mac"]) == (told["id"], adapter.address)
    assert list(unplug_commands("dock", adapter)) == [
        ("device_del", {"id": device["id"]}),
        ("netdev_del", {"id": told["id"]}),
    ]


def test_who_is_not_connected_yet() -> None:
    chardevs = [
        {"label": "usb-camera-line", "filename": "unix:/f/usb-camera.sock,server=on"},
        {"label": "usb-reader-line", "filename": "disconnected:unix:/f/x.sock,server=on"},
        {"label": "console", "filename": "disconnected:unix:/f/console.sock,server=on"},
    ]
    assert unconnected(chardevs) == ("reader",)
