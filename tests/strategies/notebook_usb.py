"""The USB devices of a drawn notebook, each on a fixed port with one interface."""

from collections.abc import Sequence
from dataclasses import dataclass

from strategies.drawn_tree import Content
from strategies.notebook_cards import USB, draw_rfkill, text


@dataclass(frozen=True, slots=True, kw_only=True)
class UsbPlan:
    """A device on a fixed port inside the unit, with one interface."""

    port: str
    ids: str
    maker: str
    product: str
    triple: str
    driver: str | None


def draw_usb(devices: Sequence[UsbPlan], files: dict[str, Content], links: dict[str, str]) -> None:
    root = f"{USB}/usb1"
    links["sys/bus/usb/devices/usb1"] = root
    _usb_attributes(files, root, "1d6b:0002", "Linux", "xHCI Host Controller", "09")
    _usb_interface(files, links, root, "1-0:1.0", "09/00/00", "hub")
    for device in devices:
        folder = f"{root}/{device.port}"
        links[f"sys/bus/usb/devices/{device.port}"] = folder
        _usb_attributes(files, folder, device.ids, device.maker, device.product, "ef")
        files[f"{folder}/removable"] = text("fixed")
        _usb_interface(files, links, folder, f"{device.port}:1.0", device.triple, device.driver)
        if device.driver == "btusb":
            _draw_bluetooth(files, links, f"{folder}/{device.port}:1.0")


def _usb_attributes(
    files: dict[str, Content], folder: str, ids: str, maker: str, product: str, code: str
) -> None:
    vendor, number = ids.split(":")
    for name, content in (
        ("idVendor", vendor),
        ("idProduct", number),
        ("bcdDevice", "0104"),
        ("manufacturer", maker),
        ("product", product),
        ("bDeviceClass", code),
        ("speed", 480),
        ("version", " 2.00"),
    ):
        files[f"{folder}/{name}"] = text(content)


def _usb_interface(
    files: dict[str, Content],
    links: dict[str, str],
    folder: str,
    name: str,
    triple: str,
    driver: str | None,
) -> None:
    interface = f"{folder}/{name}"
    links[f"sys/bus/usb/devices/{name}"] = interface
    parts = zip(("Class", "SubClass", "Protocol"), triple.split("/"), strict=True)
    for part, content in parts:
        files[f"{interface}/bInterface{part}"] = text(content)
    if driver:
        links[f"{interface}/driver"] = f"sys/bus/usb/drivers/{driver}"
        files[f"sys/bus/usb/drivers/{driver}/uevent"] = b""


def _draw_bluetooth(files: dict[str, Content], links: dict[str, str], interface: str) -> None:
    folder = f"{interface}/bluetooth/hci0"
    links["sys/class/bluetooth/hci0"] = folder
    links[f"{folder}/device"] = interface
    files[f"{folder}/type"] = text("primary")
    draw_rfkill(files, links, f"{folder}/rfkill1", folder, ("hci0", "bluetooth"))
