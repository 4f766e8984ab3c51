"""Whatever the files of a machine hold or refuse, every reader answers with readings."""

from collections.abc import Iterable

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from closeout.model.attribute import attributes_of
from closeout.model.battery import Battery
from closeout.model.reading import Absent, Blank, Filler, Unreadable, Value
from closeout.readers import (
    battery,
    buses,
    firmware_password,
    firmware_resource,
    memory,
    processor,
    storage,
    tpm,
    wireless,
)
from closeout.readers.reader import Reader
from strategies.attribute_files import contents
from strategies.drawn_tree import Content, DrawnTree

READERS = (
    *firmware_resource.READERS,
    *firmware_password.READERS,
    *tpm.READERS,
    *processor.READERS,
    *memory.READERS,
    *battery.READERS,
    *storage.READERS,
    *wireless.READERS,
    *buses.READERS,
)
STATES = (Value, Blank, Filler, Absent, Unreadable)

CARD = "sys/devices/pci0000:00/0000:02:00.0"
STICK = "sys/devices/pci0000:00/0000:00:14.0/usb1/1-2"
CHIP = "sys/devices/platform/TPM0101:00/tpm/tpm0"
CPU = "sys/devices/system/cpu"
ENTRY = "sys/firmware/efi/esrt/entries/entry0"
ADMIN = "sys/class/firmware-attributes/drawn/authentication/Admin"
SUPPLY = "sys/devices/LNXSYSTM:00/power_supply"


def _paths(folder: str, names: str) -> Iterable[str]:
    return (f"{folder}/{name}" for name in names.split())


PATHS = (
    "run/udev/data/b8:0",
    *_paths(f"{SUPPLY}/BAT0", "present status energy_full energy_full_design charge_full uevent"),
    *_paths(f"{SUPPLY}/BAT0", "scope charge_full_design serial_number cycle_count energy_now"),
    *_paths(f"{SUPPLY}/AC", "online"),
    *_paths(CARD, "vendor device class subsystem_vendor subsystem_device uevent removable"),
    *_paths(f"{CARD}/nvme/nvme0", "model serial firmware_rev state nvme0n1/size nvme0n1/removable"),
    *_paths(f"{CARD}/ieee80211/phy0", "macaddress rfkill0/soft rfkill0/hard rfkill0/name"),
    *_paths(f"{CARD}/net/wlan0", "address addr_assign_type"),
    *_paths(STICK, "idVendor idProduct product serial bDeviceClass bcdDevice removable speed"),
    *_paths(f"{STICK}/1-2:1.0", "bInterfaceClass bInterfaceSubClass bInterfaceProtocol uevent"),
    *_paths(f"{STICK}/1-2:1.0/host0/block/sda", "dev size removable device/vpd_pg80"),
    *_paths(f"{STICK}/1-2:1.0/host0/block/sda", "device/vpd_pg89 device/model device/rev"),
    f"{STICK}/1-2:1.0/bluetooth/hci0/name",
    *_paths(CHIP, "tpm_version_major pcr-sha256/0 pcr-sha256/7 pcr-sha1/0 pcr-sha1/7 device/pcrs"),
    *_paths(CPU, "online present possible cpu0/topology/physical_package_id"),
    *_paths(f"{CPU}/cpu0", "topology/core_cpus_list cpufreq/cpuinfo_max_freq"),
    *_paths(f"{CPU}/cpu0/thermal_throttle", "core_throttle_count package_throttle_count"),
    *_paths(ENTRY, "fw_class fw_type fw_version last_attempt_version last_attempt_status"),
    *_paths(ADMIN, "role is_enabled mechanism"),
    *_paths("sys/firmware/dmi/tables", "DMI smbios_entry_point"),
    *_paths("sys/devices/system/memory", "block_size_bytes memory0/state"),
    "run/udev/data/+dmi:id",
    "proc/cpuinfo",
    "proc/meminfo",
)
LINKS = {
    "sys/class/power_supply/BAT0": f"{SUPPLY}/BAT0",
    "sys/class/power_supply/AC": f"{SUPPLY}/AC",
    "sys/class/nvme/nvme0": f"{CARD}/nvme/nvme0",
    "sys/class/ieee80211/phy0": f"{CARD}/ieee80211/phy0",
    "sys/class/rfkill/rfkill0": f"{CARD}/ieee80211/phy0/rfkill0",
    "sys/class/bluetooth/hci0": f"{STICK}/1-2:1.0/bluetooth/hci0",
    "sys/block/sda": f"{STICK}/1-2:1.0/host0/block/sda",
    "sys/block/nvme0n1": f"{CARD}/nvme/nvme0/nvme0n1",
    "sys/bus/pci/devices/0000:02:00.0": CARD,
    "sys/bus/usb/devices/1-2": STICK,
    "sys/class/tpm/tpm0": CHIP,
    f"{CARD}/ieee80211/phy0/device": CARD,
    f"{CARD}/driver": "sys/bus/pci/drivers/drawn",
}
FIXED: dict[str, Content] = {
    f"{SUPPLY}/BAT0/type": b"Battery\n",
    f"{SUPPLY}/AC/type": b"Mains\n",
}


def _machine(drawn: dict[str, Content], answer: Content) -> DrawnTree:
    answers = {"names pci 8086:8086": answer, "names usb 8086:8086": answer}
    return DrawnTree(files={**FIXED, **drawn}, links=LINKS, answers=answers)


machines = st.builds(
    _machine,
    st.dictionaries(st.sampled_from(PATHS), contents, min_size=len(PATHS) // 2),
    contents,
)


@pytest.mark.parametrize("reader", READERS, ids=lambda reader: reader.kind)
@settings(suppress_health_check=[HealthCheck.too_slow])
@given(tree=machines)
def test_every_attribute_is_a_reading_with_its_sources(reader: Reader, tree: DrawnTree) -> None:
    listing = reader.find(tree)
    for place in listing.value if isinstance(listing, Value) else ():
        device = reader.read(tree, place)
        assert device.place == place
        for name in attributes_of(type(device)):
            reading = getattr(device, name)
            assert isinstance(reading, STATES), name
            assert reading.sources, name


@given(tree=machines)
def test_a_health_rests_on_one_unit_alone(tree: DrawnTree) -> None:
    found = battery.read_battery(tree, f"{SUPPLY}/BAT0")
    assert isinstance(found, Battery)
    if isinstance(found.health_percent, Value):
        units = {source.rsplit("/", 1)[-1].split("_")[0] for source in found.health_percent.sources}
        assert units in ({"energy"}, {"charge"}, {"uevent"})
        assert 0 <= found.health_percent.value <= battery.MOST_HEALTH


@pytest.mark.parametrize("reader", READERS, ids=lambda reader: reader.kind)
def test_an_empty_root_is_never_an_empty_class(reader: Reader) -> None:
    assert isinstance(reader.find(DrawnTree()), Absent)
