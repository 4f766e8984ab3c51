"""Keyboards, pointers, screens that are touched, buttons and switches (kernel class input)."""

from __future__ import annotations

from closeout.model.attribute import Shape, about
from closeout.model.device import Device
from closeout.model.frozen import field, frozen
from closeout.model.reading import Reading


@frozen
class InputDevice(Device):
    """One input of the kernel. A part may have several: a touchpad that can be a mouse has two."""

    name: Reading[str] = field(metadata=about("name that its driver gives"))
    bus: Reading[str] = field(metadata=about("bus it sits on: i8042 (PS/2), i2c, usb, bluetooth"))
    ids: Reading[str] = field(metadata=about("vendor:product, four hex digits each"))
    driver: Reading[str] = field(metadata=about("kernel driver that serves it"))
    inhibited: Reading[bool] = field(
        metadata=about("software has switched its input off", Shape.FLAG)
    )


@frozen
class Keyboard(InputDevice):
    """A keyboard with all letters; which keys work is told by pressing them."""

    key_count: Reading[int] = field(
        metadata=about(
            "keys that the driver advertises, which is no proof that they are there", Shape.INTEGER
        )
    )


@frozen
class Surface(InputDevice):
    """An input with a surface; its size is known where udev asked the device for it."""

    width_millimetres: Reading[int] = field(
        metadata=about("width of the surface", Shape.INTEGER, unit="mm")
    )
    height_millimetres: Reading[int] = field(
        metadata=about("height of the surface", Shape.INTEGER, unit="mm")
    )


@frozen
class Touchpad(Surface):
    """A touchpad."""

    buttonpad: Reading[bool] = field(metadata=about("the pad itself is the button", Shape.FLAG))
    fallback: Reading[bool] = field(
        metadata=about(
            "it answers over PS/2 while an I2C device of this sort has no driver", Shape.FLAG
        )
    )


@frozen
class PointingStick(InputDevice):
    """A stick between the keys."""


@frozen
class Mouse(InputDevice):
    """A pointer that only moves: a mouse, or what a touchpad plays where nobody knows it better."""

    fallback: Reading[bool] = field(
        metadata=about(
            "it answers over PS/2 while an I2C device of this sort has no driver", Shape.FLAG
        )
    )


@frozen
class Touchscreen(Surface):
    """The touch sensor of a screen."""


@frozen
class Pen(Surface):
    """A digitizer for a pen."""


@frozen
class Button(InputDevice):
    """Buttons and hotkeys that are no keyboard: power, sleep, volume, brightness."""

    keys: Reading[tuple[str, ...]] = field(metadata=about("what its keys are for", Shape.TEXTS))


@frozen
class LidSwitch(InputDevice):
    """The lid's switch. Its first word may be old: only a change of it proves it."""

    switches: Reading[tuple[str, ...]] = field(
        metadata=about("all switches of this input", Shape.TEXTS)
    )
    closed: Reading[bool] = field(metadata=about("the firmware says the lid is shut", Shape.FLAG))


@frozen
class TabletSwitch(InputDevice):
    """The switch that tells a convertible that it is folded over."""

    switches: Reading[tuple[str, ...]] = field(
        metadata=about("all switches of this input", Shape.TEXTS)
    )


@frozen
class KeyboardLight(Device):
    """The light under the keys. A level that changes proves the driver, not the lamp."""

    brightness: Reading[int] = field(metadata=about("brightness that is set", Shape.INTEGER))
    max_brightness: Reading[int] = field(metadata=about("highest brightness", Shape.INTEGER))
    level_percent: Reading[int] = field(
        metadata=about("brightness that is set, of the highest", Shape.INTEGER, unit="%")
    )
    changed_by_keys: Reading[int] = field(
        metadata=about("brightness after the last change by the unit itself", Shape.INTEGER)
    )


@frozen
class InputBusDevice(Device):
    """What the I2C, HID and PS/2 buses show of input devices, served by a driver or not."""

    bus: Reading[str] = field(metadata=about("i2c, hid, serio (PS/2), or acpi: firmware only"))
    name: Reading[str] = field(metadata=about("what bus or firmware call it"))
    driver: Reading[str] = field(metadata=about("kernel driver bound to it"))
    silent: Reading[bool] = field(
        metadata=about("its driver is loaded, asked it, and was not answered", Shape.FLAG)
    )
    purposes: Reading[tuple[str, ...]] = field(
        metadata=about("classes of input that it makes, or could make", Shape.TEXTS)
    )
