"""Whatever the files of a machine hold or refuse, every reader answers with readings."""

from collections.abc import Iterable

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from closeout.model.attribute import attributes_of
from closeout.model.battery import Battery
from closeout.model.reading import Absent, Blank, Filler, Unreadable, Value
from closeout.readers import battery, buses, clock, hardware_errors, storage, wireless
from closeout.readers.reader import Reader
from strategies.attribute_files import contents
from strategies.drawn_tree import Content, DrawnTree

READERS = (
    *battery.READERS,
    *storage.READERS,
    *wireless.READERS,
    *buses.READERS,
    *clock.READERS,
    *hardware_errors.READERS,
)
STATES = (Value, Blank, Filler, Absent, Unreadable)

CARD = "sys/devices/pci0000:00/0000:02:00.0"
STICK = "sys/devices/pci0000:00/0000:00:14.0/usb1/1-2"
SUPPLY = "sys/devices/LNXSYSTM:00/power_supply"
CLOCK = "sys/devices/pnp0/00:04/rtc/rtc0"


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
    *_paths(CLOCK, "name since_epoch hctosys"),
    *_paths(CARD, "aer_dev_correctable aer_dev_nonfatal aer_dev_fatal aer_rootport_total_err_cor"),
    *_paths("sys/devices/system/edac/mc/mc0", "mc_name ce_count ue_count seconds_since_reset"),
    *_paths("proc", "driver/rtc interrupts"),
)
LINKS = {
    "sys/class/power_supply/BAT0": f"{SUPPLY}/BAT0",
    "sys/class/power_supply/AC": f"{SUPPLY}/AC",
    "sys/class/nvme/nvme0": f"{CARD}/nvme/nvme0",
    "sys/class/rtc/rtc0": CLOCK,
    "sys/class/ieee80211/phy0": f"{CARD}/ieee80211/phy0",
    "sys/class/rfkill/rfkill0": f"{CARD}/ieee80211/phy0/rfkill0",
    "sys/class/bluetooth/hci0": f"{STICK}/1-2:1.0/bluetooth/hci0",
    "sys/block/sda": f"{STICK}/1-2:1.0/host0/block/sda",
    "sys/block/nvme0n1": f"{CARD}/nvme/nvme0/nvme0n1",
    "sys/bus/pci/devices/0000:02:00.0": CARD,
    "sys/bus/usb/devices/1-2": STICK,
    f"{CARD}/ieee80211/phy0/device": CARD,
    f"{CARD}/driver": "sys/bus/pci/drivers/drawn",
}
FIXED: dict[str, Content] = {
    f"{SUPPLY}/BAT0/type": b"Battery\n",
    f"{SUPPLY}/AC/type": b"Mains\n",
}


def _machine(drawn: dict[str, Content], answer: Content) -> DrawnTree:
    questions = ("names pci 8086:8086", "names usb 8086:8086", "clock tick rtc0")
    answers = dict.fromkeys(questions, answer)
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
