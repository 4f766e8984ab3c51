"""Sound and camera of a drawn notebook: a card with one codec, and a camera on USB."""

from strategies.drawn_tree import Content
from strategies.sound import (
    HEADPHONE,
    MICROPHONE,
    PLAIN_PINCAP,
    SPEAKER,
    CodecPlan,
    build_cards,
    build_codec,
    build_streams,
)

CONTROLLER = "sys/devices/pci0000:00/0000:00:1f.3"
CARD = f"{CONTROLLER}/sound/card0"
CAMERA = "sys/devices/pci0000:00/0000:00:14.0/usb1/1-6/1-6:1.0"


def draw_sound(files: dict[str, Content], links: dict[str, str]) -> None:
    """A card that plays and captures, with nothing in its jack."""
    codec = f"{CONTROLLER}/hdaudioC0D0"
    links["sys/class/sound/card0"] = CARD
    links["sys/bus/hdaudio/devices/hdaudioC0D0"] = codec
    links[f"{CARD}/device"] = CONTROLLER
    links[f"{CONTROLLER}/driver"] = "sys/bus/pci/drivers/fen_sound"
    files[f"{CARD}/id"] = b"Fen\n"
    files[f"{codec}/uevent"] = b"\n"
    files["proc/asound/cards"] = build_cards([(0, "Fen", "HDA Fen", "HDA Fen at 1")])
    files["proc/asound/pcm"] = build_streams([(0, 0, "Fen Analog", 1, 1)])
    pins = tuple((pin, PLAIN_PINCAP) for pin in (SPEAKER, MICROPHONE, HEADPHONE))
    files["proc/asound/card0/codec#0"] = build_codec(CodecPlan(pins=pins))
    for letter in "pc":
        place = f"{CARD}/pcmC0D0{letter}"
        links[f"sys/class/sound/pcmC0D0{letter}"] = place
        files[f"{place}/pcm_class"] = b"generic\n"
        info = b"subdevices_count: 1\nsubdevices_avail: 1\n"
        files[f"proc/asound/card0/pcm0{letter}/info"] = info


def draw_camera(files: dict[str, Content], links: dict[str, str]) -> None:
    """A camera that udev knows to give pictures."""
    node = f"{CAMERA}/video4linux/video0"
    links["sys/class/video4linux/video0"] = node
    links[f"{CAMERA}/driver"] = "sys/bus/usb/drivers/uvcvideo"
    files[f"{node}/name"] = b"Lid Camera\n"
    files[f"{node}/index"] = b"0\n"
    files[f"{node}/dev"] = b"81:0\n"
    files[f"{CAMERA}/uevent"] = b"PRODUCT=fe22/c31/110\n"
    files["run/udev/data/c81:0"] = b"E:ID_V4L_CAPABILITIES=:capture:\n"
