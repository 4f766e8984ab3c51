"""The description of an invented notebook: one TOML file becomes frozen records.

Every part has a name of its own (`usb.fingerprint`, `battery.main`), so that a variant is told in
one line a change: a part that is left out, or a field that says something else.

    like = "fen-14"
    without = ["usb.fingerprint"]

    [change]
    "battery.main.full_mwh" = 29600
"""

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime
from pathlib import Path
from typing import Any, Final, Literal

from dacite import Config, DaciteError, from_dict

from notebook.described_inputs import Touchpad, TouchpadLine, Touchscreen
from notebook.described_parts import ChargeLimits, Mouse, Sensor

NOTEBOOKS: Final = Path(__file__).parent / "notebooks"
VARIANT_KEYS: Final = frozenset({"title", "like", "without", "change"})


class DescriptionError(ValueError):
    """A description that does not say what a notebook needs; the text names file and key."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Bios:
    """SMBIOS type 0."""

    vendor: str | None = None
    version: str | None = None
    date: str | None = None
    release: tuple[int, int] = (1, 4)
    ec_release: tuple[int, int] = (1, 9)


@dataclass(frozen=True, slots=True, kw_only=True)
class System:
    """SMBIOS type 1; what is not named is blank, and no UUID is all FF."""

    manufacturer: str | None = None
    product: str | None = None
    version: str | None = None
    serial: str | None = None
    uuid: str | None = None
    sku: str | None = None
    family: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Board:
    """SMBIOS type 2."""

    manufacturer: str | None = None
    product: str | None = None
    version: str | None = None
    serial: str | None = None
    asset_tag: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Chassis:
    """SMBIOS type 3; 10 is a notebook, 31 a convertible, 32 a detachable."""

    manufacturer: str | None = None
    type: int = 10
    version: str | None = None
    serial: str | None = None
    asset_tag: str | None = None
    sku: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Processor:
    """SMBIOS type 4, and the name that the emulated processor gives itself; its cores are two."""

    manufacturer: str = "Calder"
    version: str = "Calder C5 2100"
    max_mhz: int = 4200
    current_mhz: int = 2100


@dataclass(frozen=True, slots=True, kw_only=True)
class Memory:
    """SMBIOS type 17: one socket; no size leaves it empty. Type 16 counts the sockets."""

    locator: str
    bank: str | None = None
    mib: int = 0
    maker: str | None = None
    part: str | None = None
    serial: str | None = None
    speed: int = 3200
    configured_speed: int = 3200
    soldered: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Licence:
    """The licence key table; a key in no known shape makes a malformed one.

    Its sum is always right: the emulator makes it anew for every table that it is given.
    """

    key: str
    oem_id: str
    oem_table_id: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Battery:
    """An ACPI battery that counts in mWh (ACPI 6.5, 10.2.2)."""

    maker: str = ""
    model: str = ""
    serial: str = ""
    chemistry: str = "LION"
    design_mwh: int
    full_mwh: int
    remaining_mwh: int
    rate_mw: int = 0
    millivolts: int = 12_140
    design_millivolts: int = 11_550
    cycles: int = 0
    state: Literal["idle", "charging", "discharging", "critical"] = "idle"
    present: bool = True
    """Without it the bay is there, and empty."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Adapter:
    """The mains adapter."""

    online: bool = True


@dataclass(frozen=True, slots=True, kw_only=True)
class Lid:
    """The lid switch."""

    open: bool = True


@dataclass(frozen=True, slots=True, kw_only=True)
class Thermal:
    """A thermal zone, in degrees Celsius."""

    celsius: float = 40.0
    critical: float = 100.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Fan:
    """A fan with its speed."""

    rpm: int = 2215


@dataclass(frozen=True, slots=True, kw_only=True)
class LightSensor:
    """An ambient light sensor of the firmware."""

    lux: int = 312


@dataclass(frozen=True, slots=True, kw_only=True)
class Backlight:
    """The panel's backlight, in percent."""

    level: int = 60


@dataclass(frozen=True, slots=True, kw_only=True)
class KeyboardLight:
    """The keyboard's light, in percent."""

    level: int = 40


@dataclass(frozen=True, slots=True, kw_only=True)
class TypeC:
    """A USB Type-C port; with a partner it is being charged."""

    partner: bool = True


@dataclass(frozen=True, slots=True, kw_only=True)
class Panel:
    """The panel's EDID; `damaged` leaves its sum wrong, `blank` the whole of it away."""

    letters: str
    product: int
    serial: int = 0
    texts: tuple[str, ...]
    width: int = 1920
    height: int = 1080
    clock_hz: int = 138_500_000
    millimetres: tuple[int, int] = (309, 174)
    damaged: bool = False
    connected: bool = True


@dataclass(frozen=True, slots=True, kw_only=True)
class Drive:
    """A drive; `link` is what the slot can do and only an NVMe drive has one.

    On the bus `raid` it is behind a controller in RAID mode, for which the image has no driver.
    """

    bus: Literal["nvme", "sata", "raid"]
    serial: str = ""
    model: str = ""
    firmware: str = ""
    mib: int = 1024
    rotational: bool = False
    critical_warning: int = 0
    link_speed: Literal["2_5", "5", "8", "16"] = "2_5"
    link_width: Literal[1, 2, 4] = 1


@dataclass(frozen=True, slots=True, kw_only=True)
class CardReader:
    """A card reader; no size leaves it empty."""

    mib: int = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class UsbDevice:
    """A device on a port of the host controller, at high speed."""

    port: int
    kind: Literal[
        "vendor",
        "camera",
        "bluetooth",
        "card_reader",
        "stick",
        "keyboard",
        "tablet",
        "hub",
        "network",
    ]
    ids: str = ""
    maker: str = ""
    product: str = ""
    serial: str = ""
    address: str = ""
    """Of a Bluetooth radio, or of a network adapter."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Radio:
    """A Wi-Fi radio with its address; `blocked` in software."""

    address: str
    blocked: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Wired:
    """A wired network port; `cable` says whether something is plugged in."""

    address: str
    cable: bool = True


@dataclass(frozen=True, slots=True, kw_only=True)
class Audio:
    """A sound card with one codec: playback and capture, by jacks or built in."""

    codec: bool = True
    built_in: bool = False
    """The codec is wired to a speaker and a microphone, not to a line out and a line in."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Tpm:
    """A TPM 2.0."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Notebook:
    """A whole notebook. What is None, or not in a mapping, is not there."""

    title: str
    profile: str
    """The profile's id."""
    memory_mib: int = 1536
    firmware: Literal["bios", "uefi", "secure-boot"] = "bios"
    clock: datetime
    keyboard: bool = True
    """The built-in keyboard's controller."""
    bios: Bios
    system: System
    board: Board
    chassis: Chassis
    processor: Processor = Processor()
    oem_strings: tuple[str, ...] = ()
    memory: Mapping[str, Memory] = field(default_factory=dict)
    passwords: Mapping[str, str] = field(default_factory=dict)
    """SMBIOS type 24: status by role; there is no such structure where none is told."""
    licence: Licence | None = None
    battery: Mapping[str, Battery] = field(default_factory=dict)
    charge_limits: ChargeLimits | None = None
    adapter: Adapter | None = None
    lid: Lid | None = None
    thermal: Thermal | None = None
    fan: Fan | None = None
    light_sensor: LightSensor | None = None
    backlight: Backlight | None = None
    keyboard_light: KeyboardLight | None = None
    type_c: TypeC | None = None
    panel: Panel | None = None
    drive: Mapping[str, Drive] = field(default_factory=dict)
    card_reader: CardReader | None = None
    usb: Mapping[str, UsbDevice] = field(default_factory=dict)
    radio: Radio | None = None
    wired: Wired | None = None
    audio: Audio | None = None
    tpm: Tpm | None = None
    touchpad: Touchpad | None = None
    undriven: tuple[str, ...] = ()
    """Hardware ids of parts that the firmware describes and no driver serves."""
    mouse: Mouse | None = None
    touchpad_line: TouchpadLine | None = None
    touchscreen: Touchscreen | None = None
    sensor: Mapping[str, Sensor] = field(default_factory=dict)


def load_notebook(name: str, folder: Path = NOTEBOOKS) -> Notebook:
    """The notebook of that name, a variant changed; DescriptionError names the key."""
    return read_notebook(name, raw_notebook(name, folder))


def notebook_names(folder: Path = NOTEBOOKS) -> tuple[str, ...]:
    """Every notebook that is described."""
    return tuple(sorted(file.stem for file in folder.glob("*.toml")))


def read_notebook(name: str, raw: Mapping[str, Any]) -> Notebook:
    """Records out of tables and fields; a key that nobody knows is a mistake."""
    try:
        return from_dict(Notebook, raw, Config(strict=True, cast=[tuple]))
    except DaciteError as mistake:
        raise DescriptionError(f"{name}: {mistake}") from None


def changed(
    raw: Mapping[str, Any], without: tuple[str, ...], change: Mapping[str, Any]
) -> dict[str, Any]:
    """The tables with parts left out and fields changed; every path must lead somewhere."""
    tables = _copied(raw)
    for path in without:
        *folders, last = path.split(".")
        table = _table_at(tables, folders, path)
        if last not in table:
            raise DescriptionError(f"without {path!r}: there is no such part")
        del table[last]
    for path, told in change.items():
        *folders, last = path.split(".")
        _table_at(tables, folders, path)[last] = told
    return tables


def raw_notebook(name: str, folder: Path = NOTEBOOKS) -> dict[str, Any]:
    """The tables of the notebook of that name, a variant's changed; no records are made of them."""
    file = folder / f"{name}.toml"
    if not file.is_file():
        known = ", ".join(notebook_names(folder))
        raise DescriptionError(f"there is no notebook {name!r}; there are {known}")
    raw = tomllib.loads(file.read_text("utf-8"))
    if "like" not in raw:
        return raw
    if unknown := raw.keys() - VARIANT_KEYS:
        raise DescriptionError(f"{file.name}: a variant has no {', '.join(sorted(unknown))}")
    whole = raw_notebook(raw["like"], folder)
    whole["title"] = raw.get("title", whole["title"])
    return changed(whole, tuple(raw.get("without", ())), raw.get("change", {}))


def _table_at(tables: dict[str, Any], folders: list[str], path: str) -> dict[str, Any]:
    table = tables
    for folder in folders:
        inner = table.get(folder)
        if not isinstance(inner, dict):
            raise DescriptionError(f"{path!r}: there is no {folder!r}")
        table = inner
    return table


def _copied(raw: Mapping[str, Any]) -> dict[str, Any]:
    return {key: _copied(told) if isinstance(told, dict) else told for key, told in raw.items()}
