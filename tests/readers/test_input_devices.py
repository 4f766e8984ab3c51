"""Inputs of drawn machines: which class each is of, where it sits, and what it tells."""

import errno
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from closeout.model.attribute import attributes_of
from closeout.model.device import Device, Position
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
from closeout.model.inventory import KINDS
from closeout.model.reading import Absent, Blank, Unreadable, Value
from closeout.readers.inputs import READERS
from strategies.drawn_tree import Content, DrawnTree
from strategies.inputs import (
    HID_OVER_I2C,
    KEYBOARD,
    LID,
    MOUSE_BITS,
    POWER_BUTTON,
    PS2_MOUSE,
    TOUCHPAD,
    InputPlan,
    draw_inputs,
)

READER = {reader.kind: reader for reader in READERS}
USB = "sys/devices/pci0000:00/0000:00:14.0/usb1/1-4"
USB_PARENT = f"{USB}/1-4:1.0/0003:FE41:0101.0002"
USB_KEYBOARD = replace(
    KEYBOARD, number=9, parent=USB_PARENT, driver="hid-generic", bus="0003", ids=("fe41", "0101")
)
PORT = "sys/devices/pci0000:00/0000:00:14.0/usb1/1-0:1.0/usb1-port4"
I2C = "sys/devices/pci0000:00/0000:00:15.0/i2c-1/i2c-FE310214:00"


def found(tree: DrawnTree, kind: str) -> list[Device]:
    listing = READER[kind].find(tree)
    assert isinstance(listing, Value), listing
    return [READER[kind].read(tree, place) for place in listing.value]


def only(tree: DrawnTree, kind: str) -> Device:
    (device,) = found(tree, kind)
    assert isinstance(device, KINDS[kind])
    return device


def behind_usb(connect_type: str | None, removable: str = "unknown") -> DrawnTree:
    files: dict[str, Content] = {f"{USB}/removable": f"{removable}\n".encode()}
    if connect_type:
        files[f"{PORT}/connect_type"] = f"{connect_type}\n".encode()
    return draw_inputs(USB_KEYBOARD, files=files, links={f"{USB}/port": PORT})


def test_a_notebook_with_all_that_is_usual() -> None:
    tree = draw_inputs(KEYBOARD, TOUCHPAD, PS2_MOUSE, LID, POWER_BUTTON)
    kinds = {kind: [device.label for device in found(tree, kind)] for kind in READER}
    assert kinds == {
        "keyboard": ["input1"],
        "keyboard_light": [],
        "touchpad": ["input2"],
        "pointing_stick": [],
        "mouse": ["input3"],
        "touchscreen": [],
        "pen": [],
        "button": ["input5"],
        "lid_switch": ["input4"],
        "tablet_switch": [],
    }


def test_a_keyboard() -> None:
    keyboard = only(draw_inputs(KEYBOARD), "keyboard")
    place = KEYBOARD.place
    assert isinstance(keyboard, Keyboard)
    assert (keyboard.place, keyboard.label) == (place, "input1")
    assert keyboard.position is Position.INTERNAL
    assert keyboard.name == Value(value="Drawn Keyboard", sources=(f"{place}/name",))
    assert keyboard.bus == Value(value="i8042", sources=(f"{place}/id/bustype",))
    assert isinstance(keyboard.ids, Value)
    assert keyboard.ids.value == "0001:0001"
    assert keyboard.driver == Value(value="atkbd", sources=(f"{KEYBOARD.parent}/driver",))
    assert keyboard.inhibited == Value(value=False, sources=(f"{place}/inhibited",))
    assert isinstance(keyboard.key_count, Value)
    assert keyboard.key_count.value == 145


def test_a_touchpad_with_what_udev_asked_it() -> None:
    touchpad = only(draw_inputs(TOUCHPAD), "touchpad")
    assert isinstance(touchpad, Touchpad)
    assert touchpad.position is Position.INTERNAL
    record = ("run/udev/data/c13:66",)
    assert touchpad.width_millimetres == Value(value=105, sources=record)
    assert touchpad.height_millimetres == Value(value=65, sources=record)
    assert isinstance(touchpad.buttonpad, Value)
    assert touchpad.buttonpad.value is True
    assert isinstance(touchpad.fallback, Value)
    assert touchpad.fallback.value is False


def test_where_udev_never_ran_it_is_a_touchpad_all_the_same_and_has_no_size() -> None:
    touchpad = only(draw_inputs(replace(TOUCHPAD, udev={})), "touchpad")
    assert isinstance(touchpad, Touchpad)
    assert touchpad.width_millimetres == Absent(
        reason="udev has no record of it", sources=("run/udev/data/c13:66",)
    )


def test_sizes_that_udev_does_not_have_or_nobody_understands() -> None:
    flags = {"ID_INPUT": "1", "ID_INPUT_TOUCHPAD": "1", "ID_INPUT_HEIGHT_MM": "wide"}
    touchpad = only(draw_inputs(replace(TOUCHPAD, udev=flags)), "touchpad")
    assert isinstance(touchpad, Touchpad)
    assert isinstance(touchpad.width_millimetres, Absent)
    assert isinstance(touchpad.height_millimetres, Unreadable)
    denied = {"run/udev/data/c13:66": errno.EACCES}
    touchpad = only(draw_inputs(TOUCHPAD, files=denied), "touchpad")
    assert isinstance(touchpad, Touchpad)
    assert isinstance(touchpad.width_millimetres, Unreadable)


def test_an_input_without_an_event_node() -> None:
    drawn = draw_inputs(TOUCHPAD)
    files = dict(drawn.files)
    del files[f"{TOUCHPAD.place}/event2/dev"]
    touchpad = only(DrawnTree(files=files, links=drawn.links), "touchpad")
    assert isinstance(touchpad, Touchpad)
    assert isinstance(touchpad.width_millimetres, Absent)
    failing = draw_inputs(TOUCHPAD, files={TOUCHPAD.place: errno.EIO})
    assert isinstance(READER["touchpad"].read(failing, TOUCHPAD.place), Touchpad)


def test_a_kernel_of_32_bits() -> None:
    assert [found(draw_inputs(replace(TOUCHPAD, word_bits=bits)), "touchpad") for bits in (32, 64)]
    short = draw_inputs(replace(TOUCHPAD, word_bits=32))
    assert found(short, "touchpad") == found(draw_inputs(TOUCHPAD), "touchpad")


def test_udev_knows_a_stick_that_looks_like_a_mouse() -> None:
    flags = {"ID_INPUT": "1", "ID_INPUT_MOUSE": "0", "ID_INPUT_POINTINGSTICK": "1"}
    tree = draw_inputs(replace(PS2_MOUSE, udev=flags))
    assert isinstance(only(tree, "pointing_stick"), PointingStick)
    assert found(tree, "mouse") == []


def test_touchscreen_pen_and_tablet_switch() -> None:
    plane = {"a": {0, 1}, "p": {1}}
    screen = InputPlan(number=6, bus="0018", bits={"e": {1, 3}, "k": {0x14A}, **plane})
    pen = InputPlan(number=7, bus="0018", bits={"e": {1, 3}, "k": {0x140, 0x14B}, **plane})
    fold = InputPlan(number=8, bus="0019", bits={"e": {5}, "w": {1, 9}})
    tree = draw_inputs(screen, pen, fold)
    assert isinstance(only(tree, "touchscreen"), Touchscreen)
    assert isinstance(only(tree, "pen"), Pen)
    switch = only(tree, "tablet_switch")
    assert isinstance(switch, TabletSwitch)
    assert isinstance(switch.switches, Value)
    assert switch.switches.value == ("tablet mode", "camera lens cover")
    assert found(tree, "button") == []


def test_buttons_say_what_they_are_for() -> None:
    button = only(draw_inputs(POWER_BUTTON), "button")
    assert isinstance(button, Button)
    assert isinstance(button.keys, Value)
    assert button.keys.value == ("power", "wake up")


@pytest.mark.parametrize(
    ("connect_type", "removable", "position"),
    [
        ("hardwired", "unknown", Position.INTERNAL),
        ("hotplug", "unknown", Position.EXTERNAL),
        (None, "fixed", Position.INTERNAL),
        (None, "removable", Position.EXTERNAL),
        (None, "unknown", Position.UNKNOWN),
        ("unknown", "unknown", Position.UNKNOWN),
    ],
)
def test_a_usb_keyboard_sits_where_its_port_says(
    connect_type: str | None, removable: str, position: Position
) -> None:
    assert only(behind_usb(connect_type, removable), "keyboard").position is position


def test_bluetooth_is_outside_and_a_program_has_no_device() -> None:
    uhid = "sys/devices/virtual/misc/uhid/0005:FE41:0102.0003"
    radio = replace(KEYBOARD, number=2, parent=uhid, bus="0005")
    made = replace(KEYBOARD, number=3, parent="sys/devices/virtual", bus="0003")
    tree = draw_inputs(radio, made)
    assert [(one.label, one.position) for one in found(tree, "keyboard")] == [
        ("input2", Position.EXTERNAL)
    ]


def test_an_embedded_controller_may_call_its_bus_virtual() -> None:
    """drivers/input/keyboard/cros_ec_keyb.c (from memory)."""
    matrix = replace(KEYBOARD, parent="sys/devices/platform/controller", bus="0006")
    assert only(draw_inputs(matrix), "keyboard").position is Position.INTERNAL


def test_firmware_keys_may_have_no_device_above_them() -> None:
    keys = replace(POWER_BUTTON, parent="sys/devices/virtual")
    button = only(draw_inputs(keys), "button")
    assert button.position is Position.INTERNAL
    assert button.place == "sys/devices/virtual/input/input5"


def test_served_by_a_program_for_the_i2c_bus_is_inside() -> None:
    uhid = "sys/devices/virtual/misc/uhid/0018:FE31:0214.0001"
    tree = draw_inputs(replace(TOUCHPAD, parent=uhid))
    assert only(tree, "touchpad").position is Position.INTERNAL


def test_unknown_buses_are_told_by_their_number() -> None:
    keyboard = only(draw_inputs(replace(KEYBOARD, bus="00ab")), "keyboard")
    assert isinstance(keyboard, Keyboard)
    assert isinstance(keyboard.bus, Value)
    assert keyboard.bus.value == "bus 00ab"


@pytest.mark.parametrize("kind", ["touchpad", "mouse"])
@pytest.mark.parametrize(("driver", "expected"), [("", True), ("i2c_hid_acpi", False)])
def test_ps2_in_place_of_i2c_is_a_fallback(kind: str, driver: str, *, expected: bool) -> None:
    plan = PS2_MOUSE
    if kind == "touchpad":
        parent, bits = PS2_MOUSE.parent, TOUCHPAD.bits
        plan = replace(TOUCHPAD, parent=parent, bus="0011", bits=bits, driver="psmouse")
    files: dict[str, Content] = {
        f"{I2C}/modalias": f"{HID_OVER_I2C}\n".encode(),
        "sys/bus/i2c/drivers_autoprobe": b"1\n",
        "sys/bus/hid/drivers_autoprobe": b"1\n",
        "sys/bus/hid/devices/x/uevent": b"",
        "sys/bus/serio/drivers_autoprobe": b"1\n",
        "sys/bus/serio/devices/x/uevent": b"",
    }
    links = {"sys/bus/i2c/devices/i2c-FE310214:00": I2C, f"{I2C}/subsystem": "sys/bus/i2c"}
    if driver:
        links[f"{I2C}/driver"] = f"sys/bus/i2c/drivers/{driver}"
    device = only(draw_inputs(plan, files=files, links=links), kind)
    assert isinstance(device, Touchpad | Mouse)
    assert isinstance(device.fallback, Value)
    assert device.fallback.value is expected


def test_beside_a_touchpad_on_i2c_a_mouse_on_ps2_stands_in_for_nothing() -> None:
    files: dict[str, Content] = {
        "sys/bus/i2c/drivers_autoprobe": b"1\n",
        "sys/bus/i2c/devices/i2c-FE330A21:00/modalias": f"{HID_OVER_I2C}\n".encode(),
    }
    links = {"sys/bus/i2c/devices/i2c-FE330A21:00/subsystem": "sys/bus/i2c"}
    alone = only(draw_inputs(PS2_MOUSE, files=files, links=links), "mouse")
    beside = only(draw_inputs(PS2_MOUSE, TOUCHPAD, files=files, links=links), "mouse")
    assert isinstance(alone, Mouse)
    assert isinstance(beside, Mouse)
    assert isinstance(alone.fallback, Value)
    assert isinstance(beside.fallback, Value)
    assert (alone.fallback.value, beside.fallback.value) == (True, False)


def test_a_fallback_is_not_known_where_the_bus_is_not() -> None:
    tree = draw_inputs(PS2_MOUSE, files={"sys/bus/i2c": errno.EACCES})
    mouse = only(tree, "mouse")
    assert isinstance(mouse, Mouse)
    assert isinstance(mouse.fallback, Unreadable)
    tree = draw_inputs(PS2_MOUSE, files={f"{PS2_MOUSE.place}/id/bustype": b"\n"})
    mouse = only(tree, "mouse")
    assert isinstance(mouse, Mouse)
    assert isinstance(mouse.fallback, Blank)


def lid_of(files: dict[str, Content]) -> LidSwitch:
    lid = only(draw_inputs(LID, files=files), "lid_switch")
    assert isinstance(lid, LidSwitch)
    return lid


@pytest.mark.parametrize(
    ("state", "closed"), [(b"state:      open\n", False), (b"state:      closed\n", True)]
)
def test_the_only_lid(state: bytes, *, closed: bool) -> None:
    path = "proc/acpi/button/lid/LID0/state"
    lid = lid_of({path: state})
    assert lid.closed == Value(value=closed, sources=(path,))
    assert isinstance(lid.switches, Value)
    assert lid.switches.value == ("lid",)


def test_one_of_two_lids_is_known_by_its_acpi_path() -> None:
    files: dict[str, Content] = {
        "proc/acpi/button/lid/LID/state": b"state:      closed\n",
        "proc/acpi/button/lid/LIDX/state": b"state:      open\n",
        f"{LID.parent}/path": b"\\_SB_.LID_\n",
    }
    closed = lid_of(files).closed
    assert isinstance(closed, Value)
    assert closed.value is True
    files[f"{LID.parent}/path"] = b"\\_SB_.PCI0\n"
    assert isinstance(lid_of(files).closed, Absent)


@pytest.mark.parametrize("state", [b"state:      unsupported\n", b"open\n", errno.EIO])
def test_a_lid_that_tells_no_state(state: Content) -> None:
    assert isinstance(lid_of({"proc/acpi/button/lid/LID0/state": state}).closed, Unreadable)


def test_a_lid_whose_states_are_nowhere() -> None:
    assert isinstance(lid_of({}).closed, Absent)
    denied = {"proc/acpi/button/lid": errno.EACCES}
    assert isinstance(lid_of(dict(denied)).closed, Unreadable)


@pytest.mark.parametrize("kind", [kind for kind in READER if kind != "keyboard_light"])
def test_listings_that_fail_are_not_empty(kind: str) -> None:
    assert isinstance(READER[kind].find(DrawnTree()), Absent)
    denied = DrawnTree(files={"sys/class/input": errno.EACCES})
    assert isinstance(READER[kind].find(denied), Unreadable)
    bare = DrawnTree(files={"sys/class/net/lo/address": b""})
    listing = READER[kind].find(bare)
    assert isinstance(listing, Value)
    assert listing.value == ()


@pytest.mark.parametrize("content", [errno.EIO, errno.ENOENT, b"\n", b"no bitmap\n"])
@pytest.mark.parametrize("name", ["capabilities/key", "properties"])
def test_an_input_that_does_not_tell_what_it_is_may_be_the_one(name: str, content: Content) -> None:
    tree = draw_inputs(KEYBOARD, files={f"{LID.place}/id/bustype": b"0019\n"})
    files = {**tree.files, f"{KEYBOARD.place}/{name}": content}
    if content == errno.ENOENT:
        del files[f"{KEYBOARD.place}/{name}"]
    broken = DrawnTree(files=files, links=tree.links)
    assert isinstance(READER["touchpad"].find(broken), Unreadable)
    keyboard = READER["keyboard"].read(broken, KEYBOARD.place)
    assert isinstance(keyboard, Keyboard)
    assert isinstance(keyboard.key_count, Unreadable)


@given(
    st.dictionaries(st.sampled_from(["e", "k", "r", "a", "w", "p"]), st.sets(st.integers(0, 99)))
)
def test_every_attribute_is_a_reading_with_sources(bits: dict[str, set[int]]) -> None:
    plan = InputPlan(bits={**MOUSE_BITS, **bits})
    tree = draw_inputs(plan)
    for kind, reader in READER.items():
        for place in getattr(reader.find(tree), "value", ()):
            device = reader.read(tree, place)
            assert isinstance(device, KINDS[kind])
            for name in attributes_of(KINDS[kind]):
                assert getattr(device, name).sources, name
