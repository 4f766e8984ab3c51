"""Display connectors with the panel's EDID (VESA E-EDID), and the backlight."""

from __future__ import annotations

from closeout.model.attribute import Shape, about
from closeout.model.device import Device
from closeout.model.frozen import field, frozen
from closeout.model.reading import Reading


@frozen
class Display(Device):
    """One connector of a graphics card; internal ones are eDP, LVDS and DSI."""

    connector: Reading[str] = field(
        metadata=about("connector name without the card: eDP-1", by_place=True)
    )
    connected: Reading[bool] = field(metadata=about("something answers there", Shape.FLAG))
    edid_valid: Reading[bool] = field(
        metadata=about("the EDID is there whole and its sums are zero", Shape.FLAG)
    )
    edid_manufacturer: Reading[str] = field(metadata=about("maker's three letters"))
    edid_product: Reading[int] = field(metadata=about("maker's product code", Shape.INTEGER))
    edid_serial: Reading[int] = field(
        metadata=about("serial number of the panel", Shape.INTEGER, personal=True)
    )
    edid_serial_texts: Reading[tuple[str, ...]] = field(
        metadata=about("serial number descriptors of the panel", Shape.TEXTS, personal=True)
    )
    edid_names: Reading[tuple[str, ...]] = field(
        metadata=about("name and free text descriptors", Shape.TEXTS)
    )
    edid_extensions: Reading[tuple[str, ...]] = field(
        metadata=about("extension blocks of the EDID", Shape.TEXTS)
    )
    bits_per_colour: Reading[int] = field(
        metadata=about("depth of each colour, where the EDID says", Shape.INTEGER, unit="bit")
    )
    native_mode: Reading[str] = field(metadata=about("preferred mode: 1920x1080"))
    native_mode_offered: Reading[bool] = field(
        metadata=about("the kernel offers the preferred mode", Shape.FLAG)
    )
    refresh_millihertz: Reading[int] = field(
        metadata=about("refresh rate of the preferred mode", Shape.INTEGER, unit="mHz")
    )
    width_millimetres: Reading[int] = field(metadata=about("image width", Shape.INTEGER, unit="mm"))
    height_millimetres: Reading[int] = field(
        metadata=about("image height", Shape.INTEGER, unit="mm")
    )
    made: Reading[str] = field(metadata=about("year and week of manufacture, or model year"))


@frozen
class Backlight(Device):
    """One backlight control. A control that moves proves the driver, not the lamp."""

    control_type: Reading[str] = field(metadata=about("firmware, platform or raw"))
    preferred: Reading[bool] = field(
        metadata=about("no other control is of a better sort", Shape.FLAG)
    )
    brightness: Reading[int] = field(metadata=about("requested brightness", Shape.INTEGER))
    actual_brightness: Reading[int] = field(
        metadata=about("brightness the hardware reports", Shape.INTEGER)
    )
    max_brightness: Reading[int] = field(metadata=about("highest brightness", Shape.INTEGER))
    level_percent: Reading[int] = field(
        metadata=about("requested brightness, of the highest", Shape.INTEGER, unit="%")
    )
    in_range: Reading[bool] = field(
        metadata=about("both brightnesses lie between 0 and the highest", Shape.FLAG)
    )
    power: Reading[str] = field(metadata=about("on, reduced or off"))
    scale: Reading[str] = field(metadata=about("linear, non-linear or unknown"))
