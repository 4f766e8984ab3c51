"""Which ports of the USB controller are sockets in the case, and which are wired to a device.

Source: ACPI 6.5, sections 9.14 (`_UPC`) and 6.1.8 (`_PLD`). The kernel shows it as `connect_type`
of the port and `removable` of what is plugged there. The root hub's ports are found by `_ADR`,
their number at the controller: first those of super speed, then the others.
"""

from collections.abc import Mapping
from typing import Final

from notebook.description import UsbDevice
from notebook.usb_arguments import HIGH_PORTS, REDIRECTED, SLOT, SUPER_PORTS

CONTROLLER_PATH: Final = f"\\_SB.PCI0.S{SLOT << 3:02X}"
CONNECTABLE: Final = 0xFF
TYPE_A: Final = 0x00
TYPE_A_SUPER: Final = 0x03
NO_SOCKET: Final = 0xFF


def usb_ports_source(devices: Mapping[str, UsbDevice]) -> str:
    """A fragment of ASL, to stand at the top of a definition block.

    Where a device of the notebook's own is wired, its port cannot be seen, and the port's other
    half, that of super speed, leads nowhere. All other ports are sockets.
    """
    wired = {device.port for device in devices.values() if device.kind in REDIRECTED}
    high = [_high_port(port, is_wired=port in wired) for port in range(1, HIGH_PORTS + 1)]
    fast = [_super_port(port, is_wired=port in wired) for port in range(1, SUPER_PORTS + 1)]
    ports = "".join(high + fast)
    return f"""External ({CONTROLLER_PATH}, DeviceObj)
Scope ({CONTROLLER_PATH})
{{
    Device (RHUB)
    {{
        Name (_ADR, Zero)
{ports}    }}
}}
"""


def _high_port(port: int, *, is_wired: bool) -> str:
    socket = TYPE_A_SUPER if port <= SUPER_PORTS else TYPE_A
    capabilities = (CONNECTABLE, NO_SOCKET if is_wired else socket)
    return _port(f"HS{port:02}", SUPER_PORTS + port, capabilities, _place(port, is_wired=is_wired))


def _super_port(port: int, *, is_wired: bool) -> str:
    capabilities = (0, NO_SOCKET) if is_wired else (CONNECTABLE, TYPE_A_SUPER)
    return _port(f"SS{port:02}", port, capabilities, _place(port, is_wired=is_wired))


def _place(port: int, *, is_wired: bool) -> str:
    """Both halves of a port are at the same place, by which the kernel knows that they are one."""
    seen = 0 if is_wired else 1
    return f"PLD_Revision = 2, PLD_UserVisible = {seen}, PLD_GroupPosition = {port}"


def _port(name: str, address: int, capabilities: tuple[int, int], place: str) -> str:
    connectable, kind = capabilities
    return f"""        Device ({name})
        {{
            Name (_ADR, {address})
            Name (_UPC, Package (4) {{ {connectable}, {kind}, 0, 0 }})
            Name (_PLD, Package (1) {{ ToPLD ({place}) }})
        }}
"""
