"""What udevadm, evtest and the kernel's own list say of input devices, beside what is shown."""

from collections.abc import Iterator, Mapping
from posixpath import basename, dirname
from typing import Final

from notebook.opinions import ToolOutput
from notebook.parsed_input import ListedInput, TestedInput, listed_inputs, tested_inputs
from notebook.parsed_udev import attributes_by_place, of_subsystem, properties_by_place
from notebook.shown import Claim, Shown

FLAGS: Final = {
    "keyboard": "ID_INPUT_KEYBOARD",
    "touchpad": "ID_INPUT_TOUCHPAD",
    "pointing_stick": "ID_INPUT_POINTINGSTICK",
    "mouse": "ID_INPUT_MOUSE",
    "touchscreen": "ID_INPUT_TOUCHSCREEN",
    "pen": "ID_INPUT_TABLET",
}
"""Kind to the flag that udev's own rules set; the others are told by their keys and switches."""
SWITCH_KINDS: Final = {"lid_switch": "SW_LID", "tablet_switch": "SW_TABLET_MODE"}
BUSES: Final = {"0011": "i8042", "0018": "i2c", "0019": "host", "0003": "usb", "0005": "bluetooth"}
SURFACES: Final = ("touchpad", "touchscreen", "pen")
SIZES: Final = {
    "width_millimetres": "ID_INPUT_WIDTH_MM",
    "height_millimetres": "ID_INPUT_HEIGHT_MM",
}
KEY_WORDS: Final = {
    "KEY_POWER": "power",
    "KEY_SLEEP": "sleep",
    "KEY_WAKEUP": "wake up",
    "KEY_BRIGHTNESSDOWN": "brightness down",
    "KEY_BRIGHTNESSUP": "brightness up",
    "KEY_SWITCHVIDEOMODE": "switch video mode",
    "KEY_VIDEO_NEXT": "next video",
    "KEY_VIDEO_PREV": "previous video",
    "KEY_BRIGHTNESS_CYCLE": "brightness cycle",
    "KEY_BRIGHTNESS_AUTO": "automatic brightness",
    "KEY_BRIGHTNESS_ZERO": "automatic brightness",
    "KEY_DISPLAY_OFF": "display off",
}
SWITCH_WORDS: Final = {"SW_LID": "lid", "SW_TABLET_MODE": "tablet mode"}
HID_OVER_I2C: Final = ":PNP0C50:"

Kinds = Mapping[str, tuple[str, ...]]


def input_list_claims(shown: Shown, outputs: Mapping[str, ToolOutput]) -> Iterator[Claim]:
    """Names and ids, as the kernel lists them all in one file."""
    tool = "input-devices"
    for label, kinds in _kinds(outputs).items():
        listed = _listed(outputs)[label]
        told = {"name": listed.name, "bus": BUSES[listed.bus], "ids": listed.ids}
        for kind in kinds:
            yield from shown.device(kind, label).claims(tool, told)


def udevadm_input_claims(shown: Shown, outputs: Mapping[str, ToolOutput]) -> Iterator[Claim]:
    """Which inputs are of which kind, their size, and the drivers above them."""
    tool = "udevadm-properties"
    properties = properties_by_place(outputs[tool])
    kinds = _kinds(outputs)
    for kind in FLAGS:
        yield shown.which(tool, kind, (label for label, of in kinds.items() if kind in of))
    for label, of in kinds.items():
        listed = _listed(outputs)[label]
        driver = properties.get(dirname(dirname(listed.place)), {}).get("DRIVER")
        event = properties.get(f"{listed.place}/{listed.event}", {})
        for kind in of:
            device = shown.device(kind, label)
            yield from device.claims(tool, {"driver": driver})
            if kind in SURFACES:
                sizes = {name: _whole(event.get(key)) for name, key in SIZES.items()}
                yield from device.claims(tool, dict(sizes))


def evtest_claims(shown: Shown, outputs: Mapping[str, ToolOutput]) -> Iterator[Claim]:
    """Keys, switches and properties, which evtest asks each device for."""
    tool = "evtest"
    kinds = _kinds(outputs)
    for kind in ("button", *SWITCH_KINDS):
        yield shown.which(tool, kind, (label for label, of in kinds.items() if kind in of))
    tested = tested_inputs(outputs[tool])
    for label, of in kinds.items():
        found = tested[_listed(outputs)[label].event]
        for kind in of:
            yield from shown.device(kind, label).claims(tool, _told_by_evtest(kind, found))


def udevadm_input_file_claims(shown: Shown, outputs: Mapping[str, ToolOutput]) -> Iterator[Claim]:
    """What the kernel's files say: inputs that are switched off, and lights of keyboards."""
    tool = "udevadm-attributes"
    files = attributes_by_place(outputs[tool])
    for label, kinds in _kinds(outputs).items():
        told = {"inhibited": files[_listed(outputs)[label].place]["inhibited"] == "1"}
        for kind in kinds:
            yield from shown.device(kind, label).claims(tool, told)
    lights = {place: told for place, told in files.items() if place.endswith("kbd_backlight")}
    yield shown.which(tool, "keyboard_light", map(basename, lights))
    for place, attributes in lights.items():
        level, most = int(attributes["brightness"]), int(attributes["max_brightness"])
        light: dict[str, object] = {
            "brightness": level,
            "max_brightness": most,
            "level_percent": 100 * level // most,
            "changed_by_keys": _whole(attributes.get("brightness_hw_changed")),
        }
        yield from shown.device("keyboard_light", basename(place)).claims(tool, light)


def udevadm_input_bus_claims(shown: Shown, outputs: Mapping[str, ToolOutput]) -> Iterator[Claim]:
    """The devices of the buses of input devices."""
    tool = "udevadm-properties"
    files = attributes_by_place(outputs["udevadm-attributes"])
    found = {
        place: properties
        for bus in ("hid", "serio", "i2c")
        for place, properties in of_subsystem(outputs[tool], bus).items()
        if bus != "i2c" or HID_OVER_I2C in properties.get("MODALIAS", "")
    }
    yield shown.which(tool, "input_bus_device", map(basename, found))
    for place, properties in found.items():
        name = properties.get("HID_NAME") or files.get(place, {}).get("description")
        told = {"bus": properties["SUBSYSTEM"], "driver": properties.get("DRIVER"), "name": name}
        yield from shown.device("input_bus_device", basename(place)).claims(tool, told)


def _listed(outputs: Mapping[str, ToolOutput]) -> dict[str, ListedInput]:
    return {one.label: one for one in listed_inputs(outputs["input-devices"])}


def _kinds(outputs: Mapping[str, ToolOutput]) -> Kinds:
    """The kinds of each input: by udev's flags, else by the codes that evtest lists."""
    properties = properties_by_place(outputs["udevadm-properties"])
    tested = tested_inputs(outputs["evtest"])
    return {
        label: tuple(_kinds_of(properties.get(listed.place, {}), tested[listed.event]))
        for label, listed in _listed(outputs).items()
    }


def _kinds_of(flags: Mapping[str, str], tested: TestedInput) -> Iterator[str]:
    pointing = [kind for kind, flag in FLAGS.items() if flags.get(flag) == "1"]
    yield from pointing
    if flags.get("ID_INPUT_KEY") == "1" and not pointing:
        yield "button"
    yield from (kind for kind, code in SWITCH_KINDS.items() if code in tested.codes)


def _told_by_evtest(kind: str, tested: TestedInput) -> dict[str, object]:
    keys = [code for code in tested.codes if not code.startswith(("BTN_", "SW_", "EV_", "REL_"))]
    switches = [code for code in tested.codes if code.startswith("SW_")]
    match kind:
        case "keyboard":
            named = [code for code in keys if code.startswith(("KEY_", "?"))]
            return {"key_count": len(named)}
        case "touchpad":
            return {"buttonpad": "INPUT_PROP_BUTTONPAD" in tested.properties}
        case "button":
            return {"keys": tuple(KEY_WORDS[code] for code in keys)}
        case "lid_switch":
            words = tuple(SWITCH_WORDS[code] for code in switches)
            return {"switches": words, "closed": tested.states["SW_LID"]}
        case _:
            return {}


def _whole(text: str | None) -> int | None:
    return None if text is None else int(text)
