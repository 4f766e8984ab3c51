"""What an input of the kernel is and can do: bus, bitmaps, udev's flags, and the roles they give.

Kernel paths: `sys/class/input/inputN/{name,properties,inhibited,modalias,id/*,capabilities/*}`
(drivers/input/input.c); udev's record `run/udev/data/+input:inputN`, and that of the event node
under it, `c13:N`, for what udev asked the device itself.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final

from closeout.decode.failure import DecodeError
from closeout.decode.input_bits import decode_bits, decode_modalias, find_word_bits
from closeout.decode.input_kind import POINTERS, Abilities, Role, tell_roles
from closeout.decode.numerals import parse_hexadecimal, parse_whole
from closeout.decode.udev_properties import decode_udev_properties
from closeout.kernel.tree import KernelTree
from closeout.model.device import Position
from closeout.model.frozen import frozen
from closeout.model.reading import Absent, Reading, Unreadable, Value, convert
from closeout.readers.attributes import (
    list_folder,
    not_understood,
    read_bytes,
    read_text,
    understand,
)
from closeout.readers.places import label_of, read_position

RECORDS: Final = "run/udev/data"
BITMAPS: Final = {
    "e": "capabilities/ev",
    "k": "capabilities/key",
    "r": "capabilities/rel",
    "a": "capabilities/abs",
    "w": "capabilities/sw",
    "p": "properties",
}
"""By the letter of the modalias; `p` is none of its letters."""
BUSES: Final = {
    "0001": "pci",
    "0002": "isapnp",
    "0003": "usb",
    "0005": "bluetooth",
    "0006": "virtual",
    "0010": "isa",
    "0011": "i8042",
    "0013": "rs232",
    "0018": "i2c",
    "0019": "host",
    "001c": "spi",
    "001d": "rmi",
    "001e": "cec",
    "001f": "ishtp",
    "0020": "amd-sfh",
    "0021": "sdw",
}
"""Bus numbers of include/uapi/linux/input.h; `host` is firmware or a controller of the unit."""
OWN_BUSES: Final = frozenset({"i8042", "i2c", "spi", "rmi", "host", "ishtp", "amd-sfh", "sdw"})
VIRTUAL_INPUTS: Final = "sys/devices/virtual/input/"
ROLES_OF_UDEV: Final = {
    "ID_INPUT_MOUSE": Role.MOUSE,
    "ID_INPUT_POINTINGSTICK": Role.POINTING_STICK,
    "ID_INPUT_TOUCHPAD": Role.TOUCHPAD,
    "ID_INPUT_TOUCHSCREEN": Role.TOUCHSCREEN,
    "ID_INPUT_TABLET": Role.PEN,
    "ID_INPUT_JOYSTICK": Role.JOYSTICK,
    "ID_INPUT_ACCELEROMETER": Role.ACCELEROMETER,
}


@frozen
class Told:
    """What an input tells of itself, and its roles."""

    abilities: Abilities
    roles: frozenset[Role]
    sources: tuple[str, ...]


def read_bus(tree: KernelTree, place: str) -> Reading[str]:
    """The word for the bus; a number without a word is itself."""
    number = understand(
        read_text(tree, f"{place}/id/bustype"),
        "four hexadecimal digits",
        lambda text: parse_hexadecimal(text, 4),
    )
    return convert(number, lambda digits: BUSES.get(digits) or f"bus {digits}")


def read_told(tree: KernelTree, place: str) -> Told | Unreadable:
    """Abilities and roles; an input that does not tell what it can is unreadable.

    The bitmaps decide. Where udev says that it is another sort of pointer, that counts: its
    hardware database knows devices that tell too little, such as sticks that look like mice.
    """
    texts: dict[str, str] = {}
    sources: tuple[str, ...] = ()
    for letter, name in BITMAPS.items():
        text = read_text(tree, f"{place}/{name}")
        if not isinstance(text, Value):
            return _untold(text)
        texts[letter] = text.value
        sources += text.sources
    listed = convert(read_text(tree, f"{place}/modalias"), decode_modalias)
    try:
        abilities = _decode_abilities(texts, listed.value if isinstance(listed, Value) else {})
    except DecodeError as failure:
        return not_understood(f"{place}/capabilities", "bitmaps", str(failure))
    return _with_udev(tree, place, abilities, sources)


def _decode_abilities(texts: Mapping[str, str], listed: Mapping[str, frozenset[int]]) -> Abilities:
    word_bits = find_word_bits(texts, listed)
    bits = {letter: decode_bits(text, word_bits) for letter, text in texts.items()}
    return Abilities(
        events=bits["e"],
        keys=bits["k"],
        relative=bits["r"],
        absolute=bits["a"],
        switches=bits["w"],
        properties=bits["p"],
    )


def _untold(text: Reading[str]) -> Unreadable:
    if isinstance(text, Unreadable):
        return text
    return Unreadable(
        error="MALFORMED",
        advice="an input device does not tell what it can; read again",
        sources=text.sources,
    )


def _with_udev(
    tree: KernelTree, place: str, abilities: Abilities, sources: tuple[str, ...]
) -> Told:
    roles = tell_roles(abilities)
    record = read_properties(tree, f"+input:{label_of(place)}")
    if isinstance(record, Value):
        found = {role for flag, role in ROLES_OF_UDEV.items() if record.value.get(flag) == "1"}
        sources += record.sources
        if found:
            roles = frozenset((roles - POINTERS) | found)
    return Told(abilities=abilities, roles=roles, sources=sources)


def read_properties(tree: KernelTree, device: str) -> Reading[Mapping[str, str]]:
    """The properties that udev keeps of a device, by the name of its record."""
    return convert(read_bytes(tree, f"{RECORDS}/{device}"), decode_udev_properties)


def read_event_properties(tree: KernelTree, place: str) -> Reading[Mapping[str, str]]:
    """The properties that udev keeps of the event node under an input."""
    inside = list_folder(tree, place)
    if not isinstance(inside, Value):
        return inside
    events = [name for name in inside.value if name.startswith("event")]
    if not events:
        return Absent(reason="the input has no event node", sources=inside.sources)
    number = read_text(tree, f"{place}/{events[0]}/dev")
    return read_properties(tree, f"c{number.value}") if isinstance(number, Value) else number


def read_millimetres(properties: Reading[Mapping[str, str]], name: str) -> Reading[int]:
    """A length that udev keeps; absent where udev never ran or the device gives none."""
    if isinstance(properties, Absent):
        return Absent(reason="udev has no record of it", sources=properties.sources)
    if not isinstance(properties, Value):
        return properties
    if name not in properties.value:
        return Absent(reason="the device gives udev no size", sources=properties.sources)
    text = Value(value=properties.value[name], sources=properties.sources)
    return understand(text, "whole millimetres", parse_whole)


def read_input_position(tree: KernelTree, place: str, bus: Reading[str]) -> Position:
    """Inside by its bus, outside by radio, on USB by the port; a device of software is UNKNOWN."""
    return place_by_bus(read_position(tree, place), bus.value if isinstance(bus, Value) else "")


def place_by_bus(found: Position, bus: str) -> Position:
    """The position by the way to the device, corrected by the bus that it names."""
    if bus == "bluetooth":
        return Position.EXTERNAL
    return Position.INTERNAL if found is Position.UNKNOWN and bus in OWN_BUSES else found


def is_of_software(place: str, bus: Reading[str]) -> bool:
    """Whether a program made this input (uinput): it is no device of the unit.

    Such an input has no device above it, whatever bus it names. Drivers of the unit's own firmware
    may have none either; their bus is `host`.
    """
    word = bus.value if isinstance(bus, Value) else ""
    return place.startswith(VIRTUAL_INPUTS) and word != "host"
