"""Independent tools asked inside a notebook: what is run, and what each of them said.

`ask_tools(machine)` gives the words of every tool, `ask_versions(machine)` which tools they were.
Each command is one line of shell, as a person would type it; one that asks several devices puts
`# DEVICE` before each answer. Errors are part of what a tool says.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

from notebook.machine import Machine

ORDINARY_USER: Final = "technician"
PATIENCE: Final = 60.0

LICENCE: Final = "/sys/firmware/acpi/tables/MSDM"
EFI_GUID: Final = "8be4df61-93ca-11d2-aa0d-00e098032b8c"
"""The vendor of the variables that UEFI itself defines (UEFI 2.10, 3.3)."""
WALKED: Final = (
    "/sys/class/dmi/id /sys/class/drm/card*-* /sys/class/backlight/* /sys/class/input/input* "
    "/sys/class/leds/*kbd_backlight /sys/bus/serio/devices/*"
)
MEASURED: Final = (
    "/sys/class/power_supply/* /sys/class/hwmon/hwmon* /sys/class/thermal/*[0-9] "
    "/sys/bus/iio/devices/iio:device*"
)
PROPERTIES_OF: Final = (
    "/sys/class/block/* /sys/class/net/* /sys/class/power_supply/* /sys/class/video4linux/* "
    "/sys/bus/usb/devices/* /sys/bus/pci/devices/* /sys/class/input/input* /sys/class/input/event* "
    "/sys/bus/hid/devices/* /sys/bus/serio/devices/* /sys/bus/i2c/devices/* "
    "/sys/bus/acpi/devices/[A-Z]*"
)
PARTS: Final = (
    "/sys/class/typec/* /sys/bus/acpi/devices/*:* /sys/bus/i2c/devices/*-00* "
    "/sys/bus/platform/devices/*:*"
)
PSUTIL_PROGRAM: Final = """
import json, psutil
print(json.dumps({
    "memory": psutil.virtual_memory().total,
    "battery": psutil.sensors_battery()._asdict() if psutil.sensors_battery() else None,
    "temperatures": {
        name: [(one.label, one.current) for one in found]
        for name, found in psutil.sensors_temperatures().items()
    },
    "fans": {
        name: [(one.label, one.current) for one in found]
        for name, found in psutil.sensors_fans().items()
    },
    "addresses": {
        name: [one.address for one in found if one.family == psutil.AF_LINK]
        for name, found in psutil.net_if_addrs().items()
    },
}, indent=1))
"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Question:
    """What is run; `of` names the program whose version counts, `ordinary` asks it as a user too.

    `left_out` says what of the tool's words is not kept.
    """

    of: str
    command: str
    ordinary: bool = False
    left_out: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class ToolOutput:
    """What a tool said, errors included, and how it ended."""

    command: str
    status: int
    text: str


def _each(pattern: str, command: str) -> str:
    """A command for each device there is, its answer headed by the device."""
    return f'for at in {pattern}; do [ -e $at ] || continue; echo "# $at"; {command}; done'


QUESTIONS: Final[Mapping[str, Question]] = {
    "dmidecode": Question(of="dmidecode", command="dmidecode", ordinary=True),
    "efi-variables": Question(
        of="od",
        command="ls /sys/firmware; "
        + _each(f"/sys/firmware/efi/efivars/S*-{EFI_GUID}", "od -An -v -tx1 $at | head -n 1"),
    ),
    "acpidump": Question(of="acpidump", command="acpidump -s"),
    "iasl": Question(
        of="iasl",
        command=f"iasl -d -p /tmp/told {LICENCE}; "
        "grep -E '(Signature|Table Length|Revision|Checksum|Oem ID) :' /tmp/told.dsl; "
        f"tail -c 5 {LICENCE}; rm /tmp/told.dsl",
        left_out="every line that holds the licence key, but its last five characters",
    ),
    "free": Question(of="free", command="free -b", ordinary=True),
    "lsmem": Question(of="lsmem", command="lsmem --bytes --summary=only", ordinary=True),
    "udevadm-memory": Question(
        of="udevadm",
        command="udevadm info --query=property /sys/class/dmi/id | grep '^MEMORY_'",
        ordinary=True,
        left_out="all but memory",
    ),
    "lscpu": Question(of="lscpu", command="lscpu -J", ordinary=True),
    "nvme-id-ctrl": Question(of="nvme", command=_each("/dev/nvme[0-9]", "nvme id-ctrl $at")),
    "nvme-id-ns": Question(of="nvme", command=_each("/dev/nvme?n?", "nvme id-ns $at")),
    "nvme-smart-log": Question(of="nvme", command=_each("/dev/nvme[0-9]", "nvme smart-log $at")),
    "smartctl": Question(
        of="smartctl", command=_each("/dev/nvme[0-9] /dev/sd?", "smartctl -i $at")
    ),
    "smartctl-health": Question(
        of="smartctl",
        command=_each("/dev/nvme[0-9] /dev/sd?", "smartctl -j -i -H -A -g security $at"),
    ),
    "dmesg-sata": Question(of="dmesg", command="dmesg | grep -E 'ata[0-9]+: SATA link up'"),
    "lsblk": Question(
        of="lsblk",
        command="lsblk -J -b -d -o NAME,MODEL,SERIAL,REV,SIZE,ROTA,RM,STATE,TRAN",
        ordinary=True,
    ),
    "edid-decode": Question(
        of="edid-decode", command=_each("/sys/class/drm/card*-*/edid", "edid-decode $at")
    ),
    "udevadm-attributes": Question(
        of="udevadm",
        command=_each(
            WALKED,
            "udevadm info --attribute-walk $at | "
            "sed -e '/looking at device/,$!d' -e '/looking at parent/,$d' -e '/{power\\//d'",
        ),
        left_out="the devices above, and power management",
    ),
    "udevadm-measured": Question(
        of="udevadm",
        command=_each(
            MEASURED,
            "udevadm info --attribute-walk $at | "
            "sed -e '/looking at device/,$!d' -e '/looking at parent/,$d' -e '/{power\\//d'",
        ),
        left_out="the devices above, and power management",
    ),
    "sensors": Question(of="sensors", command="sensors -j", ordinary=True),
    "udevadm-properties": Question(
        of="udevadm",
        command=f"udevadm info --query=property {PROPERTIES_OF} | "
        "grep -v -E '^(USEC_INITIALIZED|ID_PATH.*|.*TAGS|DEVLINKS|MODALIAS|ID_USB_.*_ENC)='",
        left_out="times, tags, links and paths made of what is kept",
    ),
    "udevadm-parts": Question(
        of="udevadm",
        command=_each(
            PARTS,
            "udevadm info --attribute-walk $at | "
            "sed -e '/looking at device/,$!d' -e '/looking at parent/,$d' -e '/{power\\//d'; "
            "printf '    MODALIAS==\"%s\"\\n' "
            '"$(udevadm info --query=property --property=MODALIAS --value $at)"',
        ),
        left_out="the devices above, and power management",
    ),
    "iw-dev": Question(of="iw", command="iw dev", ordinary=True),
    "iw-reg": Question(of="iw", command="iw reg get", ordinary=True),
    "iw-phy": Question(
        of="iw",
        command="iw phy | grep -v \"$(printf '^\\t\\t')\"",
        left_out="35 KB of capabilities, indented twice",
    ),
    "rfkill": Question(of="rfkill", command="rfkill -J", ordinary=True),
    "ip-link": Question(of="ip", command="ip -j link", ordinary=True),
    "ethtool-address": Question(
        of="ethtool", command=_each("/sys/class/net/*", "ethtool -P ${at##*/}"), ordinary=True
    ),
    "ethtool-driver": Question(
        of="ethtool", command=_each("/sys/class/net/*", "ethtool -i ${at##*/}"), ordinary=True
    ),
    "lspci": Question(of="lspci", command="lspci -D -nnk -vmm", ordinary=True),
    "lspci-links": Question(
        of="lspci",
        command="lspci -D -PP -vv 2>/dev/null | grep -E '^[^[:space:]]|LnkCap:|LnkSta:'",
        left_out="all but each function's first line and what it says of its link",
    ),
    "lspci-errors": Question(
        of="lspci",
        command="lspci -D -vv | grep -E '^[0-9a-f]{4}:|Advanced Error Reporting'",
        left_out="everything of a function but whether it tells of errors",
    ),
    "hwclock": Question(of="hwclock", command="hwclock --show --utc --verbose"),
    "dmesg": Question(
        of="dmesg", command="dmesg --json --facility kern --level emerg,alert,crit,err,warn"
    ),
    "lsusb": Question(of="lsusb", command="lsusb -v"),
    "lsusb-tree": Question(of="lsusb", command="lsusb -t", ordinary=True),
    "v4l2-ctl": Question(of="v4l2-ctl", command=_each("/dev/video?", "v4l2-ctl -d $at --info")),
    "psutil": Question(of="psutil", command=f"python3 -c '{PSUTIL_PROGRAM}'", ordinary=True),
    "input-devices": Question(of="evtest", command="cat /proc/bus/input/devices"),
    "evtest": Question(
        of="evtest",
        command="for at in /dev/input/event*; do "
        "timeout 2 evtest $at > /tmp/told.${at##*/} 2>&1 & done; wait; "
        + _each("/tmp/told.*", "cat $at; rm $at"),  # noqa: S108 - in the guest
    ),
    "tpm2": Question(of="tpm2", command=_each("/dev/tpmrm0", "tpm2_getcap properties-fixed")),
    "tpm2-registers": Question(of="tpm2", command=_each("/dev/tpmrm0", "tpm2_pcrread")),
    "udevadm-tpm": Question(
        of="udevadm",
        command=_each("/sys/class/tpm/tpm?", "udevadm info --query=property $at/device"),
        ordinary=True,
    ),
    "aplay": Question(of="aplay", command="aplay -l"),
    "arecord": Question(of="arecord", command="arecord -l"),
    "codec-text": Question(
        of="grep",
        command=_each("/proc/asound/card*/codec#*", "grep -E '^Codec|Pin(cap| Default)' $at"),
        left_out="all nodes that are no pins",
    ),
    "codec-attributes": Question(
        of="grep",
        command=_each("/sys/class/sound/hwC*D*", "grep . $at/*_id $at/*_name"),
    ),
}
"""Every question by its name, which is the name of its fixture too."""

VERSIONS: Final[Mapping[str, str]] = {
    "kernel": "uname -r",
    "python": "python3 --version",
    "psutil": "python3 -c 'import psutil; print(psutil.__version__)'",
    "acpidump": "acpidump -v 2>&1 | grep version",
    "iasl": "iasl -v | grep version",
    "od": "od --version",
    "nvme": "nvme version",
    "ip": "ip -V",
    "aplay": "aplay --version | sed 's/ by .*//'",
    "arecord": "arecord --version | sed 's/ by .*//'",
}
"""How a program tells its version where `--version` is not the way."""


def ask_tools(machine: Machine, user: str = "root") -> dict[str, ToolOutput]:
    """What every tool says; an ordinary user asks those only that are for everyone."""
    asked = QUESTIONS if user == "root" else ordinary_questions()
    return {name: _ask(machine, question.command, user) for name, question in asked.items()}


def ordinary_questions() -> dict[str, Question]:
    """The questions that an ordinary user asks too."""
    return {name: question for name, question in QUESTIONS.items() if question.ordinary}


def ask_versions(machine: Machine) -> dict[str, str]:
    """The version of every program asked, of the kernel, and of Python."""
    programs = dict.fromkeys(["kernel", "python", *(one.of for one in QUESTIONS.values())])
    return {name: _ask_version(machine, name) for name in programs}


def _ask_version(machine: Machine, program: str) -> str:
    command = VERSIONS.get(program, f"{program} --version")
    said = _ask(machine, command, "root").text.strip()
    return said.splitlines()[0] if said else "tells no version"


def _ask(machine: Machine, command: str, user: str) -> ToolOutput:
    ran = machine.session.run("sh", "-c", f"exec 2>&1; {command}", user=user, seconds=PATIENCE)
    return ToolOutput(command=command, status=ran.status, text=ran.text)
