"""What firmware describes and chips on inner buses, as the kernel shows them; ids are invented."""

import errno

import pytest

from closeout.model.buses import BusDevice
from closeout.model.device import Position
from closeout.model.reading import Absent, Unreadable
from closeout.readers.bus_devices import find_devices, read_device
from strategies.drawn_tree import Content, DrawnTree
from strategies.shown import value_of, values_of

NODES = "sys/devices/LNXSYSTM:00/LNXSYBUS:00"
PAD, GONE, LIGHT, LINK = (
    f"{NODES}/{name}" for name in ("NLTP0001:00", "NLTP0002:00", "ACPI0008:00", "PNP0C0F:00")
)
I2C = "sys/devices/pci0000:00/0000:00:15.0/i2c-1"
CHIP, DESCRIBED = f"{I2C}/1-0048", f"{I2C}/i2c-NLTP0001:00"
RADIO = "sys/devices/platform/sdhci/mmc_host/mmc1/mmc1:0001/mmc1:0001:1"
FILES: dict[str, Content] = {
    f"{PAD}/status": b"15\n",
    f"{PAD}/path": b"\\_SB_.PCI0.I2C1.TPD0\n",
    f"{PAD}/modalias": b"acpi:NLTP0001:PNP0C50:\n",
    f"{GONE}/status": b"0\n",
    f"{LIGHT}/modalias": b"acpi:ACPI0008:\n",
    f"{LINK}/status": b"9\n",
    f"{CHIP}/modalias": b"i2c:lm75b\n",
    f"{DESCRIBED}/modalias": b"acpi:NLTP0001:PNP0C50:\n",
    f"{RADIO}/modalias": b"sdio:c00v02D0dA9A6\n",
    "sys/bus/spi/devices/spi0.0/modalias": b"spi:nl-reader\n",
}
ACPI = "sys/bus/acpi/devices"
LINKS = {
    f"{ACPI}/NLTP0001:00": PAD,
    f"{ACPI}/NLTP0002:00": GONE,
    f"{ACPI}/ACPI0008:00": LIGHT,
    f"{ACPI}/PNP0C0F:00": LINK,
    f"{ACPI}/device:0a": f"{NODES}/device:0a",
    f"{ACPI}/LNXCPU:00": f"{NODES}/LNXCPU:00",
    "sys/bus/i2c/devices/1-0048": CHIP,
    "sys/bus/i2c/devices/i2c-1": I2C,
    "sys/bus/i2c/devices/i2c-NLTP0001:00": DESCRIBED,
    "sys/bus/sdio/devices/mmc1:0001:1": RADIO,
    f"{PAD}/physical_node": DESCRIBED,
    f"{DESCRIBED}/firmware_node": PAD,
    f"{DESCRIBED}/subsystem": "sys/bus/i2c",
    f"{CHIP}/firmware_node": f"{NODES}/device:0a",
    f"{CHIP}/subsystem": "sys/bus/i2c",
    f"{CHIP}/driver": "sys/bus/i2c/drivers/lm75",
    f"{LIGHT}/driver": "sys/bus/acpi/drivers/acpi_als",
    f"{LIGHT}/physical_node": "sys/devices/platform/ACPI0008:00",
    "sys/devices/platform/ACPI0008:00/subsystem": "sys/bus/platform",
}
TREE = DrawnTree(files=FILES, links=LINKS, folders=("sys/class/net",))
SPI = "sys/bus/spi/devices/spi0.0"


def part(place: str, **links: str) -> BusDevice:
    more = {f"{place}/{name}": target for name, target in links.items()}
    return read_device(DrawnTree(files=FILES, links={**LINKS, **more}), place)


def test_what_is_there_is_listed_once() -> None:
    """Neither what the firmware says is not there, nor its own layout, nor hosts of a bus."""
    assert value_of(find_devices(TREE)) == (LIGHT, PAD, CHIP, SPI, RADIO)


def test_a_part_without_a_driver_is_read_whole() -> None:
    found = part(PAD)
    assert (found.label, found.position) == ("NLTP0001:00", Position.INTERNAL)
    assert values_of(found) == {
        "bus": "i2c",
        "ids": ("NLTP0001", "PNP0C50"),
        "firmware_path": "\\_SB_.PCI0.I2C1.TPD0",
        "unbound": True,
    }
    assert isinstance(found.driver, Absent)


def test_the_driver_is_that_of_the_node_or_of_the_device_that_it_describes() -> None:
    assert value_of(part(LIGHT).driver) == "acpi_als"
    assert value_of(part(LIGHT).bus) == "platform"
    hid = read_device(
        DrawnTree(files=FILES, links={**LINKS, f"{DESCRIBED}/driver": "sys/x/i2c_hid_acpi"}), PAD
    )
    assert value_of(hid.driver) == "i2c_hid_acpi"
    assert value_of(hid.unbound) is False


def test_a_chip_that_no_firmware_describes_is_read_too() -> None:
    assert values_of(part(CHIP)) == {
        "bus": "i2c",
        "ids": ("lm75b",),
        "driver": "lm75",
        "unbound": False,
    }
    assert value_of(part(RADIO).ids) == ("02d0:a9a6",)
    assert value_of(part(SPI).ids) == ("nl-reader",)


def test_a_part_of_a_makers_own_id_may_have_no_driver_and_a_chip_usually_has_one() -> None:
    files = {**FILES, f"{PAD}/modalias": b"acpi:NLTP0001:\n"}
    own = read_device(DrawnTree(files=files, links=LINKS), PAD)
    assert isinstance(own.driver, Absent)
    assert value_of(own.unbound) is False
    assert value_of(part(SPI).unbound) is True
    nameless = read_device(DrawnTree(files={f"{PAD}/path": b"\\_SB_\n"}), PAD)
    assert value_of(nameless.unbound) is False
    untold = read_device(DrawnTree(files={f"{PAD}/modalias": errno.EACCES}), PAD)
    assert isinstance(untold.unbound, Unreadable)


def test_a_driver_that_cannot_be_read_is_not_a_missing_one() -> None:
    files = {**FILES, f"{PAD}/modalias": b"acpi:\n", f"{PAD}/path": errno.EACCES}
    found = read_device(DrawnTree(files=files, links=LINKS), PAD)
    assert isinstance(found.ids, Absent)
    assert isinstance(found.firmware_path, Unreadable)
    odd = read_device(DrawnTree(files={f"{CHIP}/driver": b""}), CHIP)
    assert isinstance(odd.driver, Unreadable)
    assert isinstance(odd.unbound, Unreadable)


def test_a_part_whose_status_cannot_be_read_may_be_there() -> None:
    tree = DrawnTree(
        files={**FILES, f"{GONE}/status": errno.EIO}, links=LINKS, folders=("sys/class/net",)
    )
    assert GONE in value_of(find_devices(tree))


@pytest.mark.parametrize(
    "path", ["sys/bus/acpi", "sys/bus/acpi/devices", "sys/bus/i2c/devices", "sys/bus/sdio"]
)
def test_a_bus_that_cannot_be_listed_leaves_the_list_open(path: str) -> None:
    tree = DrawnTree(files={**FILES, path: errno.EACCES}, links=LINKS, folders=("sys/class/net",))
    assert isinstance(find_devices(tree), Unreadable)


def test_a_kernel_without_these_buses_has_none() -> None:
    assert value_of(find_devices(DrawnTree(folders=("sys/class/net",)))) == ()
