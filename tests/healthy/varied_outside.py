"""What stands around the unit: keyboard, mouse, dock, screen, stick, card."""

import json
from collections.abc import Mapping
from typing import Final

from closeout.kernel.record import Kind, Question
from healthy.plugged import Plugged, block, place_of, play_input, plug
from healthy.shown_unit import (
    Change,
    NotShownError,
    ShownUnit,
    draws,
    together,
    with_answers,
)
from healthy.variation import Stage, Variation, vary

KEYBOARD: Final = "AT Translated Set 2 keyboard"
MOUSE: Final = "ImExPS/2 Generic Explorer Mouse"
KEYS: Final = ("03/01/01", "usbhid")
POINTER: Final = ("03/01/02", "usbhid")
STORE: Final = ("08/06/50", "usb-storage")
HUB: Final = ("09/00/00", "hub")
UDEV: Final = "E:ID_BUS=usb\nE:ID_MODEL=Pocket_32\nE:ID_SERIAL_SHORT=BW32"
HOST: Final = "sys/devices/pci0000:00/0000:00:1c.0/mmc_host/mmc0"


def _device(product: str, *interfaces: tuple[str, str], device_class: str = "00") -> Plugged:
    return Plugged(
        ids="fe41:0101",
        maker="Brackwater",
        product=product,
        interfaces=interfaces,
        device_class=device_class,
    )


def keyboard(address: str, number: int) -> Change:
    """A keyboard."""
    device = _device("Desk Keyboard", KEYS)
    return together(
        plug(address, device), play_input(address, 0, KEYBOARD, number, "Desk Keyboard")
    )


def mouse(address: str, number: int) -> Change:
    """A mouse."""
    device = _device("Desk Mouse", POINTER)
    return together(plug(address, device), play_input(address, 0, MOUSE, number, "Desk Mouse"))


def dongle(address: str, number: int) -> Change:
    """A receiver that plays a keyboard and a mouse."""
    return together(
        plug(address, _device("Receiver", KEYS, POINTER)),
        play_input(address, 0, KEYBOARD, number, "Receiver Keyboard"),
        play_input(address, 1, MOUSE, number + 1, "Receiver Mouse"),
    )


def stick(address: str, name: str, sectors: int) -> Change:
    """A stick, or with no sectors a card reader without a card."""

    def change(unit: ShownUnit) -> ShownUnit:
        scsi = f"{place_of(unit, address)}/{address}:1.0/host6/target6:0:0/6:0:0:0"
        files = {
            "size": str(sectors),
            "removable": "1",
            "ro": "0",
            "dev": "8:16",
            "queue/rotational": "1",
            "queue/logical_block_size": "512",
        }
        told = {
            f"{scsi}/model": "Pocket 32        ",
            f"{scsi}/vendor": "Brackw  ",
            "run/udev/data/b8:16": UDEV,
        }
        changes = (
            plug(address, _device("Pocket 32", STORE)),
            block(name, scsi, files),
            draws(told),
            listed_by_udev(name, {"ID_MODEL": "Pocket_32", "ID_SERIAL_SHORT": "BW32"}),
        )
        return together(*changes)(unit)

    return change


def listed_by_udev(name: str, told: Mapping[str, str]) -> Change:
    """The second opinion names the disk too."""
    key = Question(Kind.ASK, "pyudev block")

    def change(unit: ShownUnit) -> ShownUnit:
        answer = unit.answers.get(key)
        if not isinstance(answer, bytes):
            raise NotShownError(key.text)
        disks = json.loads(answer)
        disks.append({**told, "name": name})
        return with_answers(unit, {key: json.dumps(disks, sort_keys=True).encode()})

    return change


def network(address: str) -> Change:
    """A wired port on an adapter, without a cable."""
    mac = "3c:1a:9f:77:00:12"
    key = Question(Kind.ASK, "psutil net_if_addrs")

    def change(unit: ShownUnit) -> ShownUnit:
        answer = unit.answers.get(key)
        if not isinstance(answer, bytes):
            raise NotShownError(key.text)
        told = {**json.loads(answer), "enx3c1a9f770012": [mac]}
        device = f"{place_of(unit, address)}/{address}:1.0"
        place = f"{device}/net/enx3c1a9f770012"
        files = {
            f"{place}/address": mac,
            f"{place}/addr_assign_type": "0",
            f"{place}/type": "1",
            f"{place}/uevent": "INTERFACE=enx3c1a9f770012\nIFINDEX=7",
            f"{place}/operstate": "down",
            f"{place}/carrier": "0",
        }
        links = {"sys/class/net/enx3c1a9f770012": place, f"{place}/device": device}
        asked = {
            key: json.dumps(told, sort_keys=True).encode(),
            Question(Kind.ASK, "net permanent-address enx3c1a9f770012"): f"{mac}\n".encode(),
        }
        changes = (plug(address, _device("Dock LAN", ("ff/ff/00", "r8wire"))), draws(files, links))
        return with_answers(together(*changes)(unit), asked)

    return change


def camera(address: str) -> Change:
    """A camera on top of a screen."""

    def change(unit: ShownUnit) -> ShownUnit:
        device = _device("Desk Camera", ("0e/01/00", "uvcvideo"), device_class="ef")
        place = f"{place_of(unit, address)}/{address}:1.0"
        files = {
            f"{place}/video4linux/video2/name": "Desk Camera",
            f"{place}/video4linux/video2/dev": "81:2",
            "run/udev/data/c81:2": "E:ID_V4L_CAPABILITIES=:capture:",
        }
        links = {"sys/class/video4linux/video2": f"{place}/video4linux/video2"}
        return together(plug(address, device), draws(files, links))(unit)

    return change


def headset(address: str) -> Change:
    """A headset, which is a sound card of its own."""

    def change(unit: ShownUnit) -> ShownUnit:
        device = _device("Headset", ("01/01/00", "snd-usb-audio"), ("03/00/00", "usbhid"))
        place = f"{place_of(unit, address)}/{address}:1.0/sound/card1"
        files = {f"{place}/id": "Headset", f"{place}/number": "1"}
        links = {
            "sys/class/sound/card1": place,
            f"{place}/device": place.removesuffix("/sound/card1"),
        }
        cards = b" 1 [Headset        ]: USB-Audio - Headset\n                      Headset at usb\n"
        return together(
            plug(address, device),
            draws(files, links),
            _appends("proc/asound/cards", cards),
            _appends("proc/asound/pcm", b"01-00: USB Audio : USB Audio : playback 1 : capture 1\n"),
        )(unit)

    return change


def _appends(path: str, more: bytes) -> Change:
    def change(unit: ShownUnit) -> ShownUnit:
        before = unit.answers.get(Question(Kind.READ, path))
        if not isinstance(before, bytes):
            raise NotShownError(path)
        return with_answers(unit, {Question(Kind.READ, path): before + more})

    return change


def screen(connector: str, *, connected: bool) -> Change:
    """A socket for a second screen, with a screen of another size on it or without."""

    def change(unit: ShownUnit) -> ShownUnit:
        panel = unit.answers.get(Question(Kind.TARGET, "sys/class/drm/card0-eDP-1"))
        if not isinstance(panel, str):
            raise NotShownError("eDP-1")
        edid = unit.answers[Question(Kind.READ, f"{panel}/edid")]
        assert isinstance(edid, bytes)
        place = panel.replace("card0-eDP-1", f"card0-{connector}")
        files: dict[str, str | bytes] = {
            f"{place}/status": "connected" if connected else "disconnected",
            f"{place}/edid": edid if connected else b"",
            f"{place}/modes": "1920x1080\n1280x720" if connected else b"",
        }
        return draws(files, {f"sys/class/drm/card0-{connector}": place})(unit)

    return change


def card_reader(*, with_card: bool) -> Change:
    """A reader of the unit on PCI, which the model may have."""
    files = {
        "sys/devices/pci0000:00/0000:00:1c.0/class": "0x080501",
        "sys/devices/pci0000:00/0000:00:1c.0/vendor": "0xfe11",
        "sys/devices/pci0000:00/0000:00:1c.0/device": "0x0900",
        f"{HOST}/uevent": "",
    }
    links = {
        "sys/bus/pci/devices/0000:00:1c.0": "sys/devices/pci0000:00/0000:00:1c.0",
        "sys/class/mmc_host/mmc0": HOST,
        "sys/devices/pci0000:00/0000:00:1c.0/driver": "sys/bus/pci/drivers/sdhost",
    }
    if not with_card:
        return draws(files, links)
    card = f"{HOST}/mmc0:aaaa"
    files |= {f"{card}/type": "SD", f"{card}/name": "SD32G", f"{card}/serial": "0x00004a11"}
    links |= {"sys/bus/mmc/devices/mmc0:aaaa": card}
    disk = {"size": "62333952", "removable": "0", "ro": "0", "dev": "179:0"}
    return together(
        draws(files, links),
        block("mmcblk0", card, disk),
        listed_by_udev("mmcblk0", {"ID_MODEL": "", "ID_SERIAL_SHORT": ""}),
    )


def pointer_pack(unit: ShownUnit) -> ShownUnit:
    """A wireless mouse whose own pack is nearly empty."""
    place = "sys/devices/virtual/misc/uhid/0005:FE41:0101.0040/power_supply/hid-02:be:ac:47:01:0a"
    files = {
        f"{place}/type": "Battery",
        f"{place}/scope": "Device",
        f"{place}/capacity": "3",
        f"{place}/status": "Discharging",
        f"{place}/model_name": "Desk Mouse",
        f"{place}/online": "1",
        f"{place}/present": "1",
    }
    return draws(files, {"sys/class/power_supply/hid-02:be:ac:47:01:0a": place})(unit)


def _outside(name: str, change: Change, *touches: str) -> Variation:
    return vary(name, change, *touches, stage=Stage.OUTSIDE)


VARIATIONS: Final[tuple[Variation, ...]] = (
    _outside("external keyboard", keyboard("1-1", 41), "port 1"),
    _outside("external mouse", mouse("1-2", 42), "port 2"),
    _outside("dongle for keyboard and mouse", dongle("1-1", 43), "port 1"),
    _outside("external camera", camera("1-2"), "port 2", "camera nodes after others"),
    _outside("headset", headset("1-1"), "port 1", "sound as card 1"),
    _outside("a stick", stick("1-1", "sdb", 61_440_000), "port 1", "udev"),
    _outside("empty card reader on USB", stick("1-2", "sdc", 0), "port 2", "udev"),
    _outside(
        "a hub, with keyboard and mouse on it",
        together(
            plug("1-3", _device("Hub", HUB, device_class="09")),
            keyboard("1-3.1", 44),
            mouse("1-3.2", 45),
        ),
        "port 3",
    ),
    _outside(
        "docked, with network, screen and keyboard",
        together(
            plug("1-3", _device("Dock", HUB, device_class="09")),
            network("1-3.1"),
            keyboard("1-3.2", 46),
            screen("DP-1", connected=True),
        ),
        "port 3",
        "card",
        "radio name",
    ),
    _outside("network adapter without a cable", network("1-1"), "port 1", "radio name"),
    _outside("second screen", screen("HDMI-A-1", connected=True), "card", "HDMI"),
    _outside("socket for a screen, empty", screen("HDMI-A-1", connected=False), "card", "HDMI"),
    _outside("card reader without a card", card_reader(with_card=False), "mmc"),
    _outside("card in the reader", card_reader(with_card=True), "mmc", "udev"),
    _outside("wireless mouse with an empty pack", pointer_pack),
    _outside(
        "phone charging at the unit",
        plug("1-2", _device("Phone", ("06/01/01", "usbfs"))),
        "port 2",
    ),
    _outside(
        "old device at full speed",
        plug(
            "1-1",
            Plugged(
                ids="fe41:0102",
                maker="Brackwater",
                product="Gauge",
                interfaces=(("02/02/01", "cdc_acm"),),
                speed=12,
            ),
        ),
        "port 1",
    ),
)
