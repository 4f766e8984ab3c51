"""The ports of the controller in ACPI: what is built in has no socket."""

import re
import subprocess
from pathlib import Path

import pytest

from notebook.description import UsbDevice, load_notebook
from notebook.usb_arguments import HIGH_PORTS, SUPER_PORTS
from notebook.usb_ports import usb_ports_source
from oracles import iasl

PORT = re.compile(
    r"Device \((?P<name>\w+)\)\s+\{\s+Name \(_ADR, (?P<address>\d+)\)\s+"
    r"Name \(_UPC, Package \(4\) \{ (?P<connectable>\d+), (?P<kind>\d+), 0, 0 \}\)\s+"
    r"Name \(_PLD, .*?UserVisible = (?P<seen>\d), PLD_GroupPosition = (?P<position>\d+)\)"
)
DEVICES = {
    "reader": UsbDevice(port=4, kind="vendor"),
    "camera": UsbDevice(port=6, kind="camera"),
    "stick": UsbDevice(port=2, kind="stick"),
    "hub": UsbDevice(port=10, kind="hub"),
}


def ports_in(source: str) -> dict[str, tuple[int, ...]]:
    """Address, connectable, kind of socket, seen and position of each port."""
    found = [port.groupdict() for port in PORT.finditer(source)]
    return {
        port.pop("name") or "": tuple(int(value or 0) for value in port.values()) for port in found
    }


def test_every_port_is_described_once() -> None:
    ports = ports_in(usb_ports_source(DEVICES))
    assert len(ports) == HIGH_PORTS + SUPER_PORTS
    assert sorted(port[0] for port in ports.values()) == list(range(1, 1 + len(ports)))


def test_built_in_devices_are_wired() -> None:
    ports = ports_in(usb_ports_source(DEVICES))
    assert ports["HS04"] == (8, 255, 255, 0, 4)
    assert ports["SS04"] == (4, 0, 255, 0, 4)
    assert ports["HS06"] == (10, 255, 255, 0, 6)


def test_other_ports_are_sockets() -> None:
    ports = ports_in(usb_ports_source(DEVICES))
    assert ports["HS02"] == (6, 255, 3, 1, 2)
    assert ports["SS02"] == (2, 255, 3, 1, 2)
    assert ports["HS10"] == (14, 255, 0, 1, 10)
    assert ports["HS15"] == (19, 255, 0, 1, 15)


@pytest.mark.oracle
@pytest.mark.skipif(bool(iasl.reason_to_skip()), reason=iasl.reason_to_skip())
def test_the_compiler_takes_it(tmp_path: Path) -> None:
    source = tmp_path / "ports.asl"
    block = 'DefinitionBlock ("", "SSDT", 2, "NRTHLK", "PORTS", 1)'
    source.write_text(f"{block}\n{{\n{usb_ports_source(load_notebook('fen-14').usb)}}}\n")
    compiled = subprocess.run(
        ["iasl", "-p", str(tmp_path / "ports"), str(source)],
        check=True,
        capture_output=True,
        text=True,
    )
    assert "0 Errors, 0 Warnings, 0 Remarks" in compiled.stdout
    assert (tmp_path / "ports.aml").read_bytes().count(b"HS15") == 1
