"""Keyboards, pointers, touchscreens, pens, buttons and switches, each input by what it can do.

Kernel path: `sys/class/input/inputN` (Documentation/ABI/testing/sysfs-class-input); what each is
comes from `readers.input_abilities`. Lid state: `proc/acpi/button/lid/*/state`
(drivers/acpi/button.c), matched by the ACPI path of the device behind the input.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Final, TypedDict, TypeVar

from closeout.decode.input_codes import (
    INPUT_PROP_BUTTONPAD,
    SW_LID,
    SW_TABLET_MODE,
    name_keys,
    name_switches,
)
from closeout.decode.input_kind import POINTERS, Role, real_keys
from closeout.decode.numerals import parse_hexadecimal
from closeout.kernel.tree import KernelTree
from closeout.model.device import Device, Position
from closeout.model.frozen import frozen
from closeout.model.input import (
    Button,
    Keyboard,
    LidSwitch,
    Mouse,
    Pen,
    PointingStick,
    TabletSwitch,
    Touchpad,
    Touchscreen,
)
from closeout.model.inventory import Listing
from closeout.model.late_pattern import late_pattern
from closeout.model.reading import Absent, Reading, Unreadable, Value, combine, convert
from closeout.readers.asked_once import AskedOnce
from closeout.readers.attributes import (
    list_class,
    list_folder,
    read_flag,
    read_text,
    understand,
)
from closeout.readers.input_abilities import (
    Told,
    is_of_software,
    read_bus,
    read_event_properties,
    read_input_position,
    read_millimetres,
    read_told,
)
from closeout.readers.input_bus import has_waiting_i2c
from closeout.readers.places import label_of, locate
from closeout.readers.radio import read_driver
from closeout.readers.reader import Reader

T = TypeVar("T")

CLASS: Final = "sys/class/input"
INPUT: Final = late_pattern(r"input\d+")
LIDS: Final = "proc/acpi/button/lid"
LID_STATE: Final = late_pattern(r"state: *(open|closed)")
PS2: Final = "i8042"


class Shared(TypedDict):
    """What every input tells, as the fields of its record."""

    place: str
    label: str
    position: Position
    name: Reading[str]
    bus: Reading[str]
    ids: Reading[str]
    driver: Reading[str]
    inhibited: Reading[bool]


@frozen
class Sought:
    """A kind, which inputs are of it, and how one of them is read."""

    kind: str
    is_one: Callable[[Told], bool]
    read: Callable[[KernelTree, str], Device]


def find_inputs(tree: KernelTree, is_one: Callable[[Told], bool]) -> Listing:
    """The places of the inputs that are wanted, without those that a program made.

    One that does not tell what it is makes the listing unreadable: it may be the one.
    """
    listing = _find_all(tree, CLASS)
    if not isinstance(listing, Value):
        return listing
    places: list[str] = []
    for place in listing.value:
        told = told_of(tree, place)
        if isinstance(told, Unreadable):
            return told
        if is_one(told):
            places.append(place)
    return Value(value=tuple(places), sources=listing.sources)


def _find_hardware(tree: KernelTree, folder: str) -> Listing:
    listing = list_class(tree, folder)
    if not isinstance(listing, Value):
        return listing
    named = (locate(tree, f"{folder}/{name}") for name in filter(INPUT.fullmatch, listing.value))
    places = (place for place in named if not is_of_software(place, read_bus(tree, place)))
    return Value(value=tuple(places), sources=listing.sources)


_find_all: Final = AskedOnce(_find_hardware)
told_of: Final = AskedOnce(read_told)


def read_shared(tree: KernelTree, place: str) -> Shared:
    """What every input tells."""
    bus = read_bus(tree, place)
    return Shared(
        place=place,
        label=label_of(place),
        position=read_input_position(tree, place, bus),
        name=read_text(tree, f"{place}/name"),
        bus=bus,
        ids=combine(
            _read_id(tree, f"{place}/id/vendor"),
            _read_id(tree, f"{place}/id/product"),
            lambda vendor, product: f"{vendor}:{product}",
        ),
        driver=read_driver(tree, locate(tree, f"{place}/device")),
        inhibited=read_flag(tree, f"{place}/inhibited"),
    )


def _read_id(tree: KernelTree, path: str) -> Reading[str]:
    text = read_text(tree, path)
    return understand(text, "four hexadecimal digits", lambda found: parse_hexadecimal(found, 4))


def read_keyboard(tree: KernelTree, place: str) -> Keyboard:
    """A keyboard."""
    count = _of_told(tree, place, lambda told: len(real_keys(told.abilities)))
    return Keyboard(**read_shared(tree, place), key_count=count)


def read_touchpad(tree: KernelTree, place: str) -> Touchpad:
    """A touchpad."""
    return Touchpad(
        **read_shared(tree, place),
        width_millimetres=_read_width(tree, place),
        height_millimetres=_read_height(tree, place),
        buttonpad=_of_told(
            tree, place, lambda told: INPUT_PROP_BUTTONPAD in told.abilities.properties
        ),
        fallback=read_fallback(tree, place),
    )


def read_pointing_stick(tree: KernelTree, place: str) -> PointingStick:
    """A stick between the keys."""
    return PointingStick(**read_shared(tree, place))


def read_mouse(tree: KernelTree, place: str) -> Mouse:
    """A mouse, or what a touchpad plays."""
    return Mouse(**read_shared(tree, place), fallback=read_fallback(tree, place))


def read_touchscreen(tree: KernelTree, place: str) -> Touchscreen:
    """The touch sensor of a screen."""
    return Touchscreen(
        **read_shared(tree, place),
        width_millimetres=_read_width(tree, place),
        height_millimetres=_read_height(tree, place),
    )


def read_pen(tree: KernelTree, place: str) -> Pen:
    """A digitizer for a pen."""
    return Pen(
        **read_shared(tree, place),
        width_millimetres=_read_width(tree, place),
        height_millimetres=_read_height(tree, place),
    )


def read_button(tree: KernelTree, place: str) -> Button:
    """Buttons and hotkeys."""
    keys = _of_told(tree, place, lambda told: name_keys(real_keys(told.abilities)))
    return Button(**read_shared(tree, place), keys=keys)


def read_lid_switch(tree: KernelTree, place: str) -> LidSwitch:
    """The lid's switch and its state."""
    return LidSwitch(
        **read_shared(tree, place),
        switches=_read_switches(tree, place),
        closed=read_lid_closed(tree, place),
    )


def read_tablet_switch(tree: KernelTree, place: str) -> TabletSwitch:
    """The switch of a convertible."""
    return TabletSwitch(**read_shared(tree, place), switches=_read_switches(tree, place))


def read_fallback(tree: KernelTree, place: str) -> Reading[bool]:
    """Whether a pointer on PS/2 stands in for an I2C device that has no driver.

    Not where the unit has a touchpad on another bus: then what waits is something else.
    """
    bus = read_bus(tree, place)
    if not isinstance(bus, Value):
        return bus
    if bus.value != PS2:
        return Value(value=False, sources=bus.sources)
    lacks = convert(find_inputs(tree, _has(Role.TOUCHPAD)), lambda pads: _all_on_ps2(tree, pads))
    return combine(lacks, has_waiting_i2c(tree), lambda missing, waiting: missing and waiting)


def _all_on_ps2(tree: KernelTree, places: tuple[str, ...]) -> bool:
    buses = (read_bus(tree, place) for place in places)
    return all(isinstance(bus, Value) and bus.value == PS2 for bus in buses)


def read_lid_closed(tree: KernelTree, place: str) -> Reading[bool]:
    """What the firmware said last of this lid."""
    lids = list_folder(tree, LIDS)
    if not isinstance(lids, Value):
        return lids
    name = read_text(tree, f"{locate(tree, f'{place}/device')}/path")
    mine = name.value.rsplit(".", 1)[-1] if isinstance(name, Value) else ""
    named = [lid for lid in lids.value if mine in {lid, lid.ljust(4, "_")}]
    if len(lids.value) == 1:
        named = list(lids.value)
    if not named:
        sources = (*lids.sources, *name.sources)
        return Absent(reason="firmware tells the state of no such lid", sources=sources)
    state = read_text(tree, f"{LIDS}/{named[0]}/state")
    return understand(state, "state: open or closed", _parse_lid)


def _parse_lid(text: str) -> bool | None:
    found = LID_STATE.fullmatch(text)
    return found[1] == "closed" if found else None


def _read_width(tree: KernelTree, place: str) -> Reading[int]:
    return read_millimetres(read_event_properties(tree, place), "ID_INPUT_WIDTH_MM")


def _read_height(tree: KernelTree, place: str) -> Reading[int]:
    return read_millimetres(read_event_properties(tree, place), "ID_INPUT_HEIGHT_MM")


def _read_switches(tree: KernelTree, place: str) -> Reading[tuple[str, ...]]:
    return _of_told(tree, place, lambda told: name_switches(told.abilities.switches))


def _of_told(tree: KernelTree, place: str, tell: Callable[[Told], T]) -> Reading[T]:
    told = told_of(tree, place)
    if isinstance(told, Unreadable):
        return told
    return Value(value=tell(told), sources=told.sources)


def _has(role: Role) -> Callable[[Told], bool]:
    return lambda told: role in told.roles


def _is_button(told: Told) -> bool:
    """It has keys, and is neither a keyboard nor a pointer."""
    return Role.KEYS in told.roles and not told.roles & (POINTERS | {Role.KEYBOARD})


def _switches(number: int) -> Callable[[Told], bool]:
    return lambda told: Role.SWITCH in told.roles and number in told.abilities.switches


SOUGHT: Final = (
    Sought(kind="keyboard", is_one=_has(Role.KEYBOARD), read=read_keyboard),
    Sought(kind="touchpad", is_one=_has(Role.TOUCHPAD), read=read_touchpad),
    Sought(kind="pointing_stick", is_one=_has(Role.POINTING_STICK), read=read_pointing_stick),
    Sought(kind="mouse", is_one=_has(Role.MOUSE), read=read_mouse),
    Sought(kind="touchscreen", is_one=_has(Role.TOUCHSCREEN), read=read_touchscreen),
    Sought(kind="pen", is_one=_has(Role.PEN), read=read_pen),
    Sought(kind="button", is_one=_is_button, read=read_button),
    Sought(kind="lid_switch", is_one=_switches(SW_LID), read=read_lid_switch),
    Sought(kind="tablet_switch", is_one=_switches(SW_TABLET_MODE), read=read_tablet_switch),
)


def _reader(sought: Sought) -> Reader:
    return Reader(
        kind=sought.kind, find=lambda tree: find_inputs(tree, sought.is_one), read=sought.read
    )


KEYBOARDS: Final = tuple(_reader(sought) for sought in SOUGHT[:1])
POINTERS_AND_SWITCHES: Final = tuple(_reader(sought) for sought in SOUGHT[1:])
