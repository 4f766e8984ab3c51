"""The Wi-Fi radio: one of the kernel's simulated radios, under the described address.

Commands and attributes: drivers/net/wireless/virtual/mac80211_hwsim.h (enum hwsim_commands,
enum hwsim_attrs). Blocking: include/uapi/linux/rfkill.h (struct rfkill_event).
"""

import struct
import subprocess
import time
from collections.abc import Iterable, Mapping
from pathlib import Path
from typing import Any, Final

from netlink import GenericNetlink

FAMILY: Final = "MAC80211_HWSIM"
NEW_RADIO: Final = 4
CHANNELS: Final = 9
MONITOR: Final = "hwsim0"
"""An interface that hears every simulated radio; no notebook has it."""
ASIDE: Final = "aside"
PERMANENT_ADDRESS: Final = 22
NET: Final = Path("/sys/class/net")
BLOCKER: Final = Path("/dev/rfkill")
RFKILL_EVENT: Final = struct.Struct("=IBBBB")
CHANGE_ALL: Final = 3
RFKILL_TYPES: Final = {"wlan": 1, "bluetooth": 2}
PATIENCE_S: Final = 5.0


def make_radio(plan: Mapping[str, Any]) -> str:
    """The name of the interface of a new radio, which has the planned address for good."""
    address = plan["address"]
    hide_monitor()
    netlink = GenericNetlink()
    netlink.request(netlink.family(FAMILY), NEW_RADIO, radio_attributes(address))
    netlink.close()
    return wait_for_interface(address)


def hide_monitor() -> None:
    """Puts the interface that comes with the module into a network of its own."""
    orders = f"netns add {ASIDE}\nlink set {MONITOR} netns {ASIDE}\n"
    subprocess.run(["ip", "-batch", "-"], input=orders, text=True, check=True)


def radio_attributes(address: str) -> dict[int, bytes]:
    """What is asked of a new radio: one channel at a time, and its address."""
    return {CHANNELS: struct.pack("=I", 1), PERMANENT_ADDRESS: address_bytes(address)}


def address_bytes(address: str) -> bytes:
    """The six bytes of `00:0e:57:31:08:41`."""
    raw = bytes.fromhex(address.replace(":", ""))
    if len(raw) != 6 or address.count(":") != 5:
        raise ValueError(f"{address!r} is no address of six bytes")
    return raw


def wait_for_interface(address: str) -> str:
    """The name of the interface with that address."""
    end = time.monotonic() + PATIENCE_S
    while time.monotonic() < end:
        for told in NET.glob("*/address"):
            if told.read_text().strip() == address.lower():
                return told.parent.name
        time.sleep(0.01)
    raise TimeoutError(f"no interface has the address {address}")


def block(types: Iterable[str]) -> None:
    """Every radio of those types is off by software, and so is one that comes later."""
    for name in types:
        with BLOCKER.open("wb", buffering=0) as switch:
            switch.write(block_event(name))


def block_event(name: str) -> bytes:
    """What `/dev/rfkill` is told to block every radio of a type."""
    return RFKILL_EVENT.pack(0, RFKILL_TYPES[name], CHANGE_ALL, 1, 0)
