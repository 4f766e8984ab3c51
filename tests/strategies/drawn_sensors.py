"""Chips, zones, fans and sensors drawn as the kernel shows them; the places are those of machines.

The files are those of drivers in the kernel: coretemp, nvme, acpitz, acpi_fan, accel_3d.
"""

from collections.abc import Mapping

from strategies.drawn_tree import Content, DrawnTree

CORETEMP = "sys/devices/platform/coretemp.0"
DRIVE = "sys/devices/pci0000:00/0000:00:1d.0/0000:01:00.0/nvme/nvme0"
ZONES = "sys/devices/virtual/thermal"
ZONE_NODE = "sys/devices/LNXSYSTM:00/LNXSYBUS:01/LNXTHERM:00"
FAN = "sys/devices/platform/PNP0C0B:00"
FAN_NODE = "sys/devices/LNXSYSTM:00/LNXSYBUS:00/PNP0C0B:00"
HUB = "sys/devices/pci0000:00/0000:00:13.0/0044:FE31:0300.0001/HID-SENSOR-200073.1.auto"
ALWAYS = ("sys/class/net", "sys/class/hwmon", "sys/class/thermal")

Files = Mapping[str, Content]

PACKAGE: Files = {
    "name": b"coretemp\n",
    "temp1_input": b"47000\n",
    "temp1_label": b"Package id 0\n",
    "temp1_max": b"100000\n",
    "temp1_crit": b"100000\n",
    "temp1_crit_alarm": b"0\n",
}
COMPOSITE: Files = {
    "name": b"nvme\n",
    "temp1_input": b"41850\n",
    "temp1_label": b"Composite\n",
    "temp1_max": b"81850\n",
    "temp1_min": b"-273150\n",
    "temp1_crit": b"84850\n",
    "temp1_alarm": b"0\n",
}
FIRMWARE_ZONE: Files = {
    "type": b"acpitz\n",
    "temp": b"41000\n",
    "trip_point_0_type": b"critical\n",
    "trip_point_0_temp": b"100000\n",
}
ACPI_FAN: Files = {"name": b"acpi_fan\n", "fan1_input": b"2215\n", "fan1_target": b"2200\n"}
TILT: Files = {
    "name": b"accel_3d\n",
    "label": b"accel-display\n",
    "in_accel_x_raw": b"0\n",
    "in_accel_y_raw": b"-3\n",
    "in_accel_z_raw": b"1000\n",
    "in_accel_scale": b"0.009806650\n",
    "in_accel_offset": b"0\n",
    "in_accel_mount_matrix": b"1, 0, 0; 0, 1, 0; 0, 0, 1\n",
}


def drawn_chips(*chips: tuple[str, Files], **more: Mapping[str, str]) -> DrawnTree:
    """A machine with chips at these folders, each behind its class link and before its device."""
    files: dict[str, Content] = {}
    links: dict[str, str] = dict(more.get("links", {}))
    for folder, content in chips:
        number = folder.rsplit("/", 1)[-1]
        links[f"sys/class/hwmon/{number}"] = folder
        links.setdefault(f"{folder}/device", folder.rsplit("/", 1)[0].removesuffix("/hwmon"))
        files |= {f"{folder}/{name}": told for name, told in content.items()}
    return DrawnTree(files=files, links=links, folders=ALWAYS)


def drawn_iio(*sensors: tuple[str, Files]) -> DrawnTree:
    """A machine with sensors at these folders."""
    files: dict[str, Content] = {}
    links: dict[str, str] = {}
    for folder, content in sensors:
        links[f"sys/bus/iio/devices/{folder.rsplit('/', 1)[-1]}"] = folder
        files |= {f"{folder}/{name}": told for name, told in content.items()}
    return DrawnTree(files=files, links=links, folders=(*ALWAYS, "sys/bus/iio/devices"))


def drawn_zones(**zones: Files) -> DrawnTree:
    """A machine with thermal zones by name, each before its firmware node."""
    files = {
        f"{ZONES}/{zone}/{name}": told for zone, of in zones.items() for name, told in of.items()
    }
    links = {f"sys/class/thermal/{zone}": f"{ZONES}/{zone}" for zone in zones}
    links |= {f"{ZONES}/{zone}/device": ZONE_NODE for zone in zones}
    return DrawnTree(files=files, links=links, folders=(*ALWAYS, ZONE_NODE))
