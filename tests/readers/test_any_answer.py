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
    camera,
    card_reader,
    clock,
    display,
    firmware_password,
    firmware_resource,
    hardware_errors,
    input_bus,
    inputs,
    memory,
    networks,
    nfc,
    ports,
    processor,
    sensors,
    smart_card_reader,
    sound,
    storage,
    storage_controller,
    tpm,
    wireless,
)
from closeout.readers.reader import Reader
from strategies.attribute_files import contents
from strategies.drawn_tree import Content, DrawnTree

READERS = (
    *battery.READERS,
    *sensors.READERS,
    *storage.READERS,
    *storage_controller.READERS,
    *card_reader.READERS,
    *wireless.READERS,
    *networks.READERS,
    *ports.READERS,
    *buses.READERS,
    *display.READERS,
    *inputs.READERS,
    *input_bus.READERS,
    *nfc.READERS,
    *sound.READERS,
    *camera.READERS,
    *smart_card_reader.READERS,
    *clock.READERS,
    *hardware_errors.READERS,
    *firmware_resource.READERS,
    *firmware_password.READERS,
    *tpm.READERS,
    *processor.READERS,
    *memory.READERS,
)
STATES = (Value, Blank, Filler, Absent, Unreadable)

CARD = "sys/devices/pci0000:00/0000:02:00.0"
STICK = "sys/devices/pci0000:00/0000:00:14.0/usb1/1-2"
ATA = f"{CARD}/ata1/host9/target9:0:0/9:0:0:0/block/sdb"
MMC = f"{CARD}/mmc_host/mmc0"
KEYS = f"{STICK}/1-2:1.0/0003:FE31:0214.0001/input/input1"
SECURITY = "sys/devices/platform/TPM0101:00/tpm/tpm0"
CPU = "sys/devices/system/cpu"
ENTRY = "sys/firmware/efi/esrt/entries/entry0"
ADMIN = "sys/class/firmware-attributes/drawn/authentication/Admin"
SUPPLY = "sys/devices/LNXSYSTM:00/power_supply"
CHIP = "sys/devices/platform/chip/hwmon/hwmon3"
ZONE = "sys/devices/virtual/thermal/thermal_zone0"
COOLING = "sys/devices/virtual/thermal/cooling_device0"
SENSOR = "sys/devices/platform/hub/iio:device0"


TYPE_C = "sys/devices/platform/USBC000:00/typec/port0"
ROUTERS = "sys/devices/pci0000:00/0000:00:0d.2"
PART = "sys/devices/LNXSYSTM:00/NLTP0001:00"
SOUND = f"{CARD}/sound/card0"
WIRE = f"{CARD}/sdw-master-0-0/sdw:0:0:fe15:0711:01"
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
    *_paths(f"{CARD}/net/eth0", "address addr_assign_type uevent type carrier speed duplex"),
    *_paths(f"{STICK}/1-2:1.0/1-2-port1", "connect_type over_current_count location disable"),
    *_paths(STICK, "version bos_descriptors"),
    *_paths(TYPE_C, "data_role power_role port_type usb_power_delivery_revision orientation"),
    *_paths(f"{ROUTERS}/domain0", "security 0-0/authorized 0-0/generation 0-0/vendor 0-0/device"),
    *_paths(PART, "status path modalias"),
    *_paths(CARD, "current_link_speed current_link_width max_link_speed max_link_width"),
    *_paths(CARD, "remapped_nvme ata1/link1/ata_link/link1/sata_spd"),
    f"{CARD}/nvme/nvme0/hwmon1/temp1_input",
    f"{CARD}/ata1/host9/scsi_host/host9/ahci_host_caps",
    *_paths(ATA, "dev size removable device/vpd_pg89 device/state"),
    *_paths(f"{MMC}/mmc0:0001", "type name life_time pre_eol_info block/mmcblk0/size"),
    *_paths(f"{SUPPLY}/BAT0", "capacity status charge_control_end_threshold charge_behaviour"),
    *_paths(f"{SUPPLY}/pen", "scope capacity capacity_level status online model_name"),
    *_paths(CHIP, "name temp1_input temp1_crit temp1_alarm fan1_input fan1_max fan1_fault"),
    *_paths(ZONE, "type temp trip_point_0_type trip_point_0_temp"),
    *_paths(COOLING, "type cur_state max_state firmware_node/fan_speed_rpm"),
    *_paths(SENSOR, "name label in_accel_x_raw in_accel_y_raw in_accel_z_input in_accel_scale"),
    *_paths(SENSOR, "in_illuminance_raw in_illuminance_scale in_proximity_raw in_angl0_raw"),
    *_paths(f"{CARD}/drm/card0-eDP-1", "status edid modes"),
    *_paths(f"{CARD}/backlight/panel", "type brightness actual_brightness max_brightness scale"),
    *_paths(f"{CARD}/leds/x::kbd_backlight", "brightness max_brightness brightness_hw_changed"),
    *_paths(KEYS, "name modalias properties inhibited id/bustype id/vendor id/product event1/dev"),
    *_paths(KEYS, "capabilities/ev capabilities/key capabilities/rel capabilities/abs"),
    f"{KEYS}/capabilities/sw",
    *_paths(f"{STICK}/1-2:1.0/0003:FE31:0214.0001", "uevent report_descriptor"),
    f"{STICK}/descriptors",
    *_paths(f"{STICK}/1-2:1.0/video4linux/video0", "name index dev"),
    *_paths(SOUND, "id input5/name input5/capabilities/sw input5/event5/dev"),
    f"{SOUND}/pcmC0D0p/dev",
    *_paths("proc/asound", "cards pcm card0/codec#0 card0/pcm0p/info"),
    "run/udev/data/c81:0",
    *_paths(f"{CARD}/nfc/nfc0", "rfkill1/soft rfkill1/hard rfkill1/name"),
    *_paths(WIRE, "status modalias"),
    *_paths(CLOCK, "name since_epoch hctosys"),
    *_paths(CARD, "aer_dev_correctable aer_dev_nonfatal aer_dev_fatal aer_rootport_total_err_cor"),
    *_paths("sys/devices/system/edac/mc/mc0", "mc_name ce_count ue_count seconds_since_reset"),
    *_paths("proc", "driver/rtc interrupts"),
    *_paths(
        SECURITY, "tpm_version_major pcr-sha256/0 pcr-sha256/7 pcr-sha1/0 pcr-sha1/7 device/pcrs"
    ),
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
    "sys/class/power_supply/pen": f"{SUPPLY}/pen",
    "sys/class/hwmon/hwmon3": CHIP,
    "sys/class/thermal/thermal_zone0": ZONE,
    "sys/class/thermal/cooling_device0": COOLING,
    "sys/bus/iio/devices/iio:device0": SENSOR,
    "sys/class/nvme/nvme0": f"{CARD}/nvme/nvme0",
    "sys/class/rtc/rtc0": CLOCK,
    "sys/class/ieee80211/phy0": f"{CARD}/ieee80211/phy0",
    "sys/class/rfkill/rfkill0": f"{CARD}/ieee80211/phy0/rfkill0",
    "sys/class/bluetooth/hci0": f"{STICK}/1-2:1.0/bluetooth/hci0",
    "sys/block/sda": f"{STICK}/1-2:1.0/host0/block/sda",
    "sys/block/sdb": ATA,
    "sys/class/mmc_host/mmc0": MMC,
    "sys/block/mmcblk0": f"{MMC}/mmc0:0001/block/mmcblk0",
    f"{MMC}/mmc0:0001/block/mmcblk0/device": f"{MMC}/mmc0:0001",
    "sys/block/nvme0n1": f"{CARD}/nvme/nvme0/nvme0n1",
    "sys/bus/pci/devices/0000:02:00.0": CARD,
    "sys/bus/usb/devices/1-2": STICK,
    "sys/class/tpm/tpm0": SECURITY,
    f"{CARD}/ieee80211/phy0/device": CARD,
    f"{CARD}/driver": "sys/bus/pci/drivers/drawn",
    "sys/class/net/eth0": f"{CARD}/net/eth0",
    f"{CARD}/net/eth0/device": CARD,
    "sys/class/typec/port0": TYPE_C,
    "sys/bus/thunderbolt/devices/0-0": f"{ROUTERS}/domain0/0-0",
    "sys/bus/thunderbolt/devices/domain0": f"{ROUTERS}/domain0",
    "sys/bus/acpi/devices/NLTP0001:00": PART,
    "sys/bus/usb/devices/1-2:1.0": f"{STICK}/1-2:1.0",
    "sys/class/drm/card0-eDP-1": f"{CARD}/drm/card0-eDP-1",
    "sys/class/backlight/panel": f"{CARD}/backlight/panel",
    "sys/class/leds/x::kbd_backlight": f"{CARD}/leds/x::kbd_backlight",
    "sys/class/input/input1": KEYS,
    "sys/bus/hid/devices/0003:FE31:0214.0001": f"{STICK}/1-2:1.0/0003:FE31:0214.0001",
    f"{STICK}/1-2:1.0/0003:FE31:0214.0001/subsystem": "sys/bus/hid",
    "sys/class/sound/card0": SOUND,
    "sys/class/sound/pcmC0D0p": f"{SOUND}/pcmC0D0p",
    "sys/class/input/input5": f"{SOUND}/input5",
    "sys/class/nfc/nfc0": f"{CARD}/nfc/nfc0",
    "sys/class/video4linux/video0": f"{STICK}/1-2:1.0/video4linux/video0",
    "sys/class/video4linux/v4l-subdev0": f"{CARD}/i2c-1/i2c-x/video4linux/v4l-subdev0",
    "sys/bus/hdaudio/devices/hdaudioC0D0": f"{CARD}/hdaudioC0D0",
    "sys/bus/soundwire/devices/sdw:0:0:fe15:0711:01": WIRE,
}
QUESTIONS = (
    "names pci 8086:8086",
    "names usb 8086:8086",
    "nvme smart-log nvme0",
    "opal status nvme0n1",
    "opal status sdb",
    "ata identify sdb",
    "ata smart sdb",
    "ata smart-thresholds sdb",
    "ata smart-status sdb",
    "nl80211 regulatory",
    "net permanent-address eth0",
    "bluetooth address hci0",
    "input switches event5",
    "clock tick rtc0",
)
FIXED: dict[str, Content] = {
    f"{SUPPLY}/BAT0/type": b"Battery\n",
    f"{SUPPLY}/AC/type": b"Mains\n",
    f"{SUPPLY}/pen/type": b"Battery\n",
}


def _machine(drawn: dict[str, Content], answer: Content) -> DrawnTree:
    answers = dict.fromkeys(QUESTIONS, answer)
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
