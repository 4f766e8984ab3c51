"""What the buses of input devices show, on drawn machines."""

import errno

import pytest

from closeout.model.device import Position
from closeout.model.input import InputBusDevice
from closeout.model.reading import Absent, Reading, Unreadable, Value
from closeout.readers.input_bus import READERS, has_waiting_i2c
from notebook.in_guest import touchpad_reports
from strategies.drawn_tree import Content, DrawnTree
from strategies.inputs import HID_OVER_I2C

(READER,) = READERS
I2C = "sys/devices/pci0000:00/0000:00:15.0/i2c-1/i2c-FE310214:00"
HID = f"{I2C}/0018:FE31:0214.0001"
PORT = "sys/devices/platform/i8042/serio0"
ACPI = "sys/devices/LNXSYSTM:00/LNXSYBUS:00/PNP0A08:00/device:2b/FE310214:00"
BASE: dict[str, Content] = {
    "sys/class/net/lo/address": b"",
    "sys/bus/i2c/drivers_autoprobe": b"1\n",
    "sys/bus/hid/drivers_autoprobe": b"1\n",
    "sys/bus/serio/drivers_autoprobe": b"1\n",
}
FOLDERS = tuple(f"sys/bus/{bus}/devices" for bus in ("i2c", "hid", "serio"))


def draw(files: dict[str, Content], links: dict[str, str]) -> DrawnTree:
    return DrawnTree(files={**BASE, **files}, links=links, folders=FOLDERS)


def i2c_machine(modalias: str = HID_OVER_I2C, **more: Content) -> DrawnTree:
    files: dict[str, Content] = {
        f"{I2C}/modalias": f"{modalias}\n".encode(),
        f"{I2C}/name": b"FE310214:00\n",
    }
    links = {
        "sys/bus/i2c/devices/i2c-FE310214:00": I2C,
        "sys/bus/i2c/devices/i2c-1": "sys/devices/pci0000:00/0000:00:15.0/i2c-1",
        f"{I2C}/subsystem": "sys/bus/i2c",
    }
    if (driver := more.pop("bound", None)) is not None:
        assert isinstance(driver, bytes)
        links[f"{I2C}/driver"] = f"sys/bus/i2c/drivers/{driver.decode()}"
    if (loaded := more.pop("loaded", None)) is not None:
        assert isinstance(loaded, bytes)
        files[f"sys/bus/i2c/drivers/{loaded.decode()}/uevent"] = b""
    return draw({**files, **more}, links)


def places(tree: DrawnTree) -> tuple[str, ...]:
    listing = READER.find(tree)
    assert isinstance(listing, Value), listing
    return listing.value


def only(tree: DrawnTree) -> InputBusDevice:
    (place,) = places(tree)
    found = READER.read(tree, place)
    assert isinstance(found, InputBusDevice)
    return found


def content(reading: Reading[object]) -> object:
    return reading.value if isinstance(reading, Value) else type(reading)


def test_hid_over_i2c_with_its_driver() -> None:
    found = only(i2c_machine(bound=b"i2c_hid_acpi"))
    assert (found.place, found.label) == (I2C, "i2c-FE310214:00")
    assert found.position is Position.INTERNAL
    assert content(found.bus) == "i2c"
    assert content(found.name) == "FE310214:00"
    assert content(found.driver) == "i2c_hid_acpi"
    assert content(found.silent) is False
    assert content(found.purposes) == ("touchpad", "touchscreen", "pen")


@pytest.mark.parametrize(
    ("loaded", "silent"), [(b"i2c_hid_acpi", True), (b"i2c_hid_of", True), (b"lm75", False)]
)
def test_without_a_driver_it_is_silent_only_where_one_is_loaded(
    loaded: bytes, *, silent: bool
) -> None:
    found = only(i2c_machine(loaded=loaded))
    assert isinstance(found.driver, Absent)
    assert content(found.silent) is silent


def test_drivers_that_cannot_be_listed() -> None:
    machine = i2c_machine()
    denied = draw({**machine.files, "sys/bus/i2c/drivers": errno.EACCES}, dict(machine.links))
    assert content(only(denied).silent) is Unreadable


@pytest.mark.parametrize(
    ("modalias", "listed"),
    [
        ("acpi:FE310214:PNP0C50:", 1),
        ("acpi:PNP0C50:", 1),
        ("acpi:ACPI0C50:", 1),
        ("of:Ntouchpad@2cT(null)Cfe31,pad-2Chid-over-i2c", 1),
        ("of:NxT(null)Chid-over-i2cCfe31,pad", 1),
        ("acpi:FE310214:PNP0C500:", 0),
        ("acpi:PNP0501:", 0),
        ("of:NxT(null)Chid-over-i2c-not", 0),
        ("i2c:lm75", 0),
    ],
)
def test_what_is_hid_over_i2c(modalias: str, listed: int) -> None:
    assert len(places(i2c_machine(modalias))) == listed


def hid_machine(place: str, descriptor: Content, name: str = "") -> DrawnTree:
    files: dict[str, Content] = {
        f"{place}/report_descriptor": descriptor,
        f"{place}/uevent": f"HID_ID=0018:0:0\nHID_NAME={name}\n".encode(),
    }
    label = place.rsplit("/", 1)[-1]
    return draw(files, {f"sys/bus/hid/devices/{label}": place, f"{place}/subsystem": "sys/bus/hid"})


def test_a_hid_device_says_what_it_is_for() -> None:
    descriptor = touchpad_reports.report_descriptor()
    found = only(hid_machine(HID, descriptor, "FE310214:00 FE31:0214"))
    assert content(found.bus) == "hid"
    assert content(found.name) == "FE310214:00 FE31:0214"
    assert content(found.purposes) == ("touchpad", "mouse")
    assert content(found.driver) is Absent
    assert content(found.silent) is False
    assert content(only(hid_machine(HID, descriptor)).name) is Absent


@pytest.mark.parametrize("descriptor", [b"\xa1", errno.EIO])
def test_a_descriptor_that_is_none(descriptor: Content) -> None:
    assert content(only(hid_machine(HID, descriptor)).purposes) is Unreadable


@pytest.mark.parametrize(
    ("label", "position"),
    [
        ("0005:FE41:0102.0001", Position.EXTERNAL),
        ("0018:FE31:0214.0001", Position.INTERNAL),
        ("0003:FE31:0214.0001", Position.UNKNOWN),
    ],
)
def test_a_hid_device_that_a_program_serves(label: str, position: Position) -> None:
    place = f"sys/devices/virtual/misc/uhid/{label}"
    assert only(hid_machine(place, b"")).position is position


def ps2_machine(kind: str, driver: str = "", loaded: str = "") -> DrawnTree:
    files: dict[str, Content] = {
        f"{PORT}/description": b"i8042 KBD port\n",
        f"{PORT}/id/type": f"{kind}\n".encode(),
    }
    links = {"sys/bus/serio/devices/serio0": PORT, f"{PORT}/subsystem": "sys/bus/serio"}
    if driver:
        links[f"{PORT}/driver"] = f"sys/bus/serio/drivers/{driver}"
    if loaded:
        files[f"sys/bus/serio/drivers/{loaded}/uevent"] = b""
    return draw({**files, "sys/bus/serio/drivers/bind_mode": b""}, links)


@pytest.mark.parametrize(
    ("kind", "driver", "loaded", "silent", "purposes"),
    [
        ("06", "atkbd", "atkbd", False, ("keyboard",)),
        ("06", "", "atkbd", True, ("keyboard",)),
        ("06", "", "psmouse", False, ("keyboard",)),
        ("01", "", "psmouse", True, ("touchpad", "pointing_stick", "mouse")),
        ("05", "", "psmouse", False, ()),
    ],
)
def test_a_ps2_port(
    kind: str, driver: str, loaded: str, purposes: tuple[str, ...], *, silent: bool
) -> None:
    found = only(ps2_machine(kind, driver, loaded))
    assert content(found.name) == "i8042 KBD port"
    assert content(found.silent) is silent
    assert content(found.purposes) == purposes


def acpi_machine(links: dict[str, str], **files: Content) -> DrawnTree:
    drawn: dict[str, Content] = {
        f"{ACPI}/modalias": f"{HID_OVER_I2C}\n".encode(),
        f"{ACPI}/hid": b"FE310214\n",
        **{f"{ACPI}/{name}": found for name, found in files.items()},
    }
    named = {
        "sys/bus/acpi/devices/FE310214:00": ACPI,
        "sys/bus/acpi/devices/device:2b": "sys/devices/LNXSYSTM:00/device:2b",
        f"{ACPI}/subsystem": "sys/bus/acpi",
    }
    return draw(drawn, named | links)


def test_what_acpi_alone_names_has_no_controller_with_a_driver() -> None:
    found = only(acpi_machine({}, status=b"15\n"))
    assert content(found.bus) == "acpi"
    assert content(found.name) == "FE310214"
    assert content(found.silent) is False
    assert content(found.purposes) == ("touchpad", "touchscreen", "pen")
    assert len(places(acpi_machine({}))) == 1


def test_what_is_switched_off_or_has_a_device_is_not_listed_again() -> None:
    assert places(acpi_machine({}, status=b"0\n")) == ()
    assert places(acpi_machine({f"{ACPI}/physical_node": I2C})) == ()


def test_listings_that_fail_are_not_empty() -> None:
    assert isinstance(READER.find(DrawnTree()), Absent)
    for folder in ("sys/bus/i2c", "sys/bus/hid/devices", "sys/bus/acpi/devices"):
        denied = draw({folder: errno.EACCES}, {})
        if folder == "sys/bus/hid/devices":
            denied = DrawnTree(files={**BASE, folder: errno.EACCES}, folders=FOLDERS[:1])
        assert isinstance(READER.find(denied), Unreadable), folder
    bare = DrawnTree(files={"sys/class/net/lo/address": b""})
    assert places(bare) == ()


def test_a_device_without_a_bus() -> None:
    found = READER.read(DrawnTree(files={"x/name": b"y\n"}), "x")
    assert isinstance(found, InputBusDevice)
    assert content(found.bus) is Absent
    assert content(found.silent) is Absent
    assert content(found.purposes) is Absent


def test_waiting_is_what_firmware_names_and_no_driver_serves() -> None:
    assert content(has_waiting_i2c(i2c_machine())) is True
    assert content(has_waiting_i2c(acpi_machine({}))) is True
    assert content(has_waiting_i2c(i2c_machine(bound=b"i2c_hid_acpi"))) is False
    assert content(has_waiting_i2c(ps2_machine("01"))) is False
    assert content(has_waiting_i2c(DrawnTree())) is Absent
