"""A drawn machine of which the libraries say just what our own readers say."""

from closeout.kernel.question_names import (
    BATTERY,
    DISKS,
    FANS,
    INTERFACES,
    MEMORY,
    PROCESSOR,
    TEMPERATURES,
)
from strategies.drawn_opinions import (
    draw_charge,
    draw_disk,
    draw_disks,
    draw_interfaces,
    draw_memory,
    draw_processor,
    draw_sensors,
    draw_udev_file,
)
from strategies.drawn_tree import Content, DrawnTree

MAC = "3c:1a:9e:40:62:d7"
PACK = "sys/class/power_supply/BAT0"
CHIP = "sys/class/hwmon/hwmon0"
CPU = "sys/devices/system/cpu"
MODEL = "Calder C5 2100"
FILES: dict[str, Content] = {
    "proc/cpuinfo": b"processor\t: 0\nmodel name\t: Calder C5 2100\n",
    f"{CPU}/online": b"0\n",
    f"{CPU}/cpu0/topology/physical_package_id": b"0\n",
    "proc/meminfo": b"MemTotal:        8000000 kB\n",
    "sys/class/net/wlan0/address": b"3c:1a:9e:40:62:d7\n",
    "sys/class/net/tun0/address": b"\n",
    "sys/class/net/bond_list": b"\n",
    f"{PACK}/type": b"Battery\n",
    f"{PACK}/present": b"1\n",
    f"{PACK}/capacity": b"80\n",
    f"{CHIP}/name": b"drawn\n",
    f"{CHIP}/temp1_input": b"41850\n",
    f"{CHIP}/temp2_input": b"127000\n",
    f"{CHIP}/fan1_input": b"2215\n",
    "sys/class/thermal/thermal_zone0/type": b"pch\n",
    "sys/class/thermal/thermal_zone0/temp": b"50000\n",
    "sys/block/sda/dev": b"8:0\n",
    "sys/block/loop0/dev": b"7:0\n",
    "run/udev/data/b8:0": draw_udev_file("Larch_40", "LR4471"),
}
ANSWERS: dict[str, Content] = {
    MEMORY: draw_memory(8000000),
    INTERFACES: draw_interfaces({"wlan0": MAC}),
    BATTERY: draw_charge(80.0),
    TEMPERATURES: draw_sensors(drawn={"": 41.85, "no sensor": 127.0}),
    FANS: draw_sensors(drawn={"": 2215}),
    DISKS: draw_disks(draw_disk("sda", "Larch_40", "LR4471"), draw_disk("loop0", None, None)),
    PROCESSOR: draw_processor(MODEL),
}


def machine(
    files: dict[str, Content | None] | None = None,
    answers: dict[str, Content | None] | None = None,
) -> DrawnTree:
    """The machine whose opinions agree, with changes; None takes a file or an answer away."""
    return DrawnTree(files=_changed(FILES, files or {}), answers=_changed(ANSWERS, answers or {}))


def _changed(drawn: dict[str, Content], changes: dict[str, Content | None]) -> dict[str, Content]:
    return {path: one for path, one in {**drawn, **changes}.items() if one is not None}
