"""The PCI functions of the drawn notebook, and the radio that sits on one of them."""

from strategies.drawn_tree import Content

PCI = "sys/devices/pci0000:00"
GRAPHICS = f"{PCI}/0000:00:02.0"
USB = f"{PCI}/0000:00:14.0"
DRIVE = f"{PCI}/0000:00:1d.0/0000:01:00.0"
RADIO = f"{PCI}/0000:00:1c.0/0000:02:00.0"
RADIO_ADDRESS = "3c:1a:9e:40:62:d7"


def text(content: object) -> bytes:
    """An attribute file: the text and its newline."""
    return f"{content}\n".encode()


def draw_rfkill(
    files: dict[str, Content],
    links: dict[str, str],
    folder: str,
    device: str,
    name_and_type: tuple[str, str],
) -> None:
    """The block state of a radio: neither blocked by software nor by hardware."""
    links[f"sys/class/rfkill/{folder.rsplit('/', 1)[-1]}"] = folder
    links[f"{folder}/device"] = device
    for name, content in zip(("name", "type"), name_and_type, strict=True):
        files[f"{folder}/{name}"] = text(content)
    files[f"{folder}/soft"] = text(0)
    files[f"{folder}/hard"] = text(0)


def draw_radio(files: dict[str, Content], links: dict[str, str]) -> None:
    """A Wi-Fi radio with its network interface."""
    phy = f"{RADIO}/ieee80211/phy0"
    links["sys/class/ieee80211/phy0"] = phy
    links[f"{phy}/device"] = RADIO
    files[f"{phy}/macaddress"] = text(RADIO_ADDRESS)
    net = f"{RADIO}/net/wlan0"
    links["sys/class/net/wlan0"] = net
    links[f"{net}/phy80211"] = phy
    links[f"{net}/device"] = RADIO
    files[f"{net}/address"] = text(RADIO_ADDRESS)
    files[f"{net}/addr_assign_type"] = text(0)
    files[f"{net}/uevent"] = text("DEVTYPE=wlan\nINTERFACE=wlan0\nIFINDEX=2")
    draw_rfkill(files, links, f"{phy}/rfkill0", phy, ("phy0", "wlan"))


PCI_FUNCTIONS = (
    (f"{PCI}/0000:00:00.0", "fe11:0100", "060000", None, "Fenwick host bridge"),
    (GRAPHICS, "fe11:0200", "030000", "fendrm", "Fenwick graphics"),
    (USB, "fe11:0300", "0c0330", "xhci_hcd", "Fenwick USB host controller"),
    (f"{PCI}/0000:00:1c.0", "fe11:0400", "060400", "pcieport", "Fenwick root port"),
    (f"{PCI}/0000:00:1d.0", "fe11:0400", "060400", "pcieport", "Fenwick root port"),
    (DRIVE, "fe12:2280", "010802", "nvme", "Peatstone drive controller"),
    (RADIO, "fe13:0606", "028000", "fenwlan", "Larkway radio module"),
)
VENDORS = {"fe11": "Fenwick Silicon", "fe12": "Peatstone Storage", "fe13": "Larkway Radio"}


def draw_pci(
    files: dict[str, Content], links: dict[str, str], answers: dict[str, Content], *, radio: bool
) -> None:
    """Every PCI function with its driver, and the names that the ids file has for it."""
    for folder, ids, code, driver, name in PCI_FUNCTIONS:
        if folder == RADIO and not radio:
            continue
        vendor, number = ids.split(":")
        links[f"sys/bus/pci/devices/{folder.rsplit('/', 1)[-1]}"] = folder
        for attribute, content in (
            ("vendor", f"0x{vendor}"),
            ("device", f"0x{number}"),
            ("class", f"0x{code}"),
            ("subsystem_vendor", "0xfe10"),
            ("subsystem_device", "0x0014"),
        ):
            files[f"{folder}/{attribute}"] = text(content)
        files[f"{folder}/uevent"] = text(f"PCI_CLASS={code}\nPCI_ID={ids.upper()}")
        if driver:
            links[f"{folder}/driver"] = f"sys/bus/pci/drivers/{driver}"
            files[f"sys/bus/pci/drivers/{driver}/uevent"] = b""
        content = f'{{"device":"{name}","vendor":"{VENDORS[vendor]}"}}'
        answers[f"names pci {ids}"] = content.encode()
