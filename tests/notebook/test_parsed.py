"""Shapes of the tools' words that the recorded notebooks do not have, and those easily misread."""

import pytest

from notebook.claims_display import connector_of
from notebook.claims_drives import drive_of, smartctl_claims
from notebook.claims_firmware import licence_claims
from notebook.claims_memory import size_of
from notebook.claims_networks import rule_claims
from notebook.claims_ports import parse_walk, port_of
from notebook.claims_processor import count_listed
from notebook.claims_sound import listed
from notebook.console_text import console_disagreements, read_console
from notebook.opinions import ToolOutput
from notebook.parsed_radio import parse_radios
from notebook.parsed_switches import names_with_switches
from notebook.parsed_text import labelled, parts_by_device
from notebook.parsed_udev import attributes_by_place, properties_by_place, unescaped
from notebook.parsed_usb import parse_descriptors, parse_tree
from notebook.shown import Claim, Missing, Shown, Unread

HUB_TREE = """\
/:  Bus 001.Port 001: Dev 001, Class=root_hub, Driver=xhci_hcd/12p, 480M
    |__ Port 003: Dev 002, If 0, Class=Hub, Driver=hub/4p, 480M
        |__ Port 001: Dev 004, If 0, Class=Human Interface Device, Driver=usbhid, 12M
        |__ Port 004: Dev 006, If 0, Class=Wireless, Driver=btusb, 12M
        |__ Port 004: Dev 006, If 1, Class=Wireless, Driver=[none], 12M
    |__ Port 010: Dev 003, If 0, Class=Vendor Specific Class, Driver=[none], 1.5M
/:  Bus 002.Port 001: Dev 001, Class=root_hub, Driver=xhci_hcd/6p, 10000M
"""
SPINNING = """\
# /dev/sda
Device Model:     Peatstone P20 512
Serial Number:    PS51219002
User Capacity:    500,107,862,016 bytes [500 GB]
Rotation Rate:    5400 rpm
"""
WRONG_SUM = """\
Firmware Warning (ACPI): Incorrect checksum in table [MSDM] - 0x00, should be 0x04
[004h 0004 004h]                Table Length : 00000054
[009h 0009 001h]                    Checksum : 00     /* Incorrect checksum, should be 04 */
CGJQN"""
TWO_RADIOS = """\
phy#1
\tInterface wlan1
\t\tifindex 5
\t\twdev 0x100000001
\t\taddr 02:00:00:00:01:00
\t\ttype managed
phy#0
\tUnnamed/non-netdev interface
\t\twdev 0x2
\t\taddr 42:00:00:00:00:00
\t\ttype P2P-device
\tInterface wlan0
\t\tifindex 3
\t\twdev 0x1
\t\taddr 3c:1a:9f:31:08:41
\t\ttype managed
"""
PRINTED = """
Drives: nothing more
  sda (internal, sys/devices/pci0000:00/ata1/block/sda)
    model: Peatstone P20 512
    serial: unreadable - EACCES: run as root
    size_bytes: 1.00 GiB (1073741825 B)
    removable: no
"""


def _said(text: str) -> ToolOutput:
    return ToolOutput(command="", status=0, text=text)


def test_ports_behind_a_hub() -> None:
    ports = {port.label: port for port in parse_tree(_said(HUB_TREE))}
    assert list(ports) == ["usb1", "1-3", "1-3.1", "1-3.4", "1-10", "usb2"]
    assert ports["1-3.4"].drivers == ("btusb", "[none]")
    assert ports["1-3.4"].number == 6
    assert ports["1-3"].drivers == ("hub",)
    assert ports["usb2"].speed_mbit == "10000"
    assert ports["1-10"].speed_mbit == "1.5"


def test_no_device_no_descriptor() -> None:
    assert parse_descriptors(_said("")) == ()
    assert parse_tree(_said("")) == ()


def test_a_radio_is_told_by_its_named_interface() -> None:
    assert parse_radios(_said(TWO_RADIOS)) == {
        "phy1": ("wlan1", "02:00:00:00:01:00"),
        "phy0": ("wlan0", "3c:1a:9f:31:08:41"),
    }


def test_a_drive_that_turns() -> None:
    shown = Shown({"drive": {"listing": {"state": "value"}, "devices": []}})
    told = {
        claim.attribute: claim.told
        for claim in smartctl_claims(shown, {"smartctl": _said(SPINNING)})
    }
    assert told == {
        "model": "Peatstone P20 512",
        "serial": "PS51219002",
        "size_bytes": 500107862016,
        "rotational": True,
    }


def test_a_licence_table_with_a_wrong_sum() -> None:
    shown = Shown({"licence": {"listing": {"state": "value"}, "devices": []}})
    outputs = {"acpidump": _said("ACPI: FACP 0x0 0000F4\n"), "iasl": _said(WRONG_SUM)}
    told = {claim.attribute: claim.told for claim in licence_claims(shown, outputs)}
    assert told == {
        "present": False,
        "well_formed": False,
        "checksum_good": False,
        "key_token": "CGJQN",
    }


@pytest.mark.parametrize(
    ("name", "drive"), [("nvme0n1", "nvme0"), ("nvme12n3", "nvme12"), ("sda", "sda")]
)
def test_the_drive_of_a_block_device(name: str, drive: str) -> None:
    assert drive_of(name) == drive


def test_small_readings() -> None:
    assert size_of("512 MB") == 512 * 1024**2
    assert [count_listed(text) for text in ("0", "0,1", "0-3", "0-3,8,10-11")] == [1, 2, 4, 7]
    assert connector_of("card1-eDP-1") == "eDP-1"
    assert unescaped(r"Peatstone\x20P20\x20\x20") == "Peatstone P20"
    assert labelled("a : 1: 2\na: 3\nno label") == {"a": "1: 2"}
    assert parts_by_device(_said("before\n# /dev/sda\none\n# /dev/sdb\ntwo")) == {
        "sda": "one",
        "sdb": "two",
    }


def test_what_udevadm_prints() -> None:
    properties = "DEVPATH=/devices/a\nDRIVER=x=y\nDEVPATH=/devices/b\nSUBSYSTEM=pci\n"
    assert properties_by_place(_said(properties)) == {
        "/devices/a": {"DRIVER": "x=y"},
        "/devices/b": {"SUBSYSTEM": "pci"},
    }
    walked = '  looking at device \'/devices/a\':\n    KERNEL=="a"\n    ATTR{type}=="raw"\n'
    assert attributes_by_place(_said(walked)) == {"/devices/a": {"": "a", "type": "raw"}}


def test_states_are_told_apart() -> None:
    readings = {
        "present": {"state": "value", "value": True},
        "texts": {"state": "value", "value": ["a"]},
        "filler": {"state": "filler", "text": "Default string", "reason": "r"},
        "blank": {"state": "blank", "reason": "r"},
        "absent": {"state": "absent", "reason": "r"},
        "unread": {"state": "unreadable", "error": "EACCES", "advice": "a"},
    }
    device = {"place": "p", "label": "l", "attributes": readings}
    shown = Shown({"x": {"listing": {"state": "absent"}, "devices": [device]}})
    assert dict(shown.only("x").values) == {
        "present": True,
        "texts": ("a",),
        "filler": "Default string",
        "blank": "",
        "absent": None,
        "unread": Unread("EACCES"),
    }
    assert shown.which("t", "x", ["l"]).shown is None
    assert [claim.shown for claim in shown.at("x", 1).claims("t", {"present": True})] == [Missing()]


def test_one_is_not_true() -> None:
    claim = Claim(tool="t", kind="k", label="l", attribute="a", told=1, shown=True)
    assert not claim.agrees
    assert claim.as_line() == "k l: a: t says 1, shown is True"


def test_words_that_say_otherwise() -> None:
    attributes = {
        "model": {"state": "value", "value": "Peatstone P20 512"},
        "serial": {"state": "unreadable", "error": "EACCES", "advice": "run as root"},
        "size_bytes": {"state": "value", "value": 1073741825, "unit": "B"},
        "removable": {"state": "value", "value": False},
    }
    (section,) = read_console(PRINTED)
    (device,) = section.devices
    told = {
        "label": device.label,
        "position": "internal",
        "place": device.place,
        "attributes": attributes,
    }
    assert console_disagreements(PRINTED, {"drive": {"devices": [told]}}) == []
    for name, otherwise in (
        ("model", {"state": "blank", "reason": ""}),
        ("serial", {"state": "absent", "reason": "no such file"}),
        ("size_bytes", {"state": "value", "value": 1073741824, "unit": "B"}),
        ("size_bytes", {"state": "value", "value": 1073741826, "unit": "B"}),
        ("removable", {"state": "value", "value": True}),
    ):
        changed = told | {"attributes": attributes | {name: otherwise}}
        (line,) = console_disagreements(PRINTED, {"drive": {"devices": [changed]}})
        assert f"sda: {name}: printed" in line
    elsewhere = told | {"place": "sys/devices/elsewhere"}
    assert console_disagreements(PRINTED, {"drive": {"devices": [elsewhere]}})
    assert console_disagreements(PRINTED, {"drive": {"devices": []}})


WALK = """\
# /sys/class/typec/port0
  looking at device '/devices/platform/USBC000:00/typec/port0':
    KERNEL=="port0"
    SUBSYSTEM=="typec"
    DRIVER==""
    ATTR{data_role}=="host [device]"

# /sys/bus/acpi/devices/NLTP0001:00
  looking at device '/devices/LNXSYSTM:00/NLTP0001:00':
    KERNEL=="NLTP0001:00"
    SUBSYSTEM=="acpi"
    DRIVER=="nl_pad"
    ATTR{status}=="15"
    MODALIAS=="acpi:NLTP0001:"
"""


def test_a_walk_tells_attributes_driver_and_subsystem() -> None:
    port, pad = parse_walk(ToolOutput(command="", status=0, text=WALK))
    assert (port.name, port.told["SUBSYSTEM"], port.told["data_role"]) == (
        "port0",
        "typec",
        "host [device]",
    )
    assert (pad.name, pad.told["DRIVER"], pad.told["status"]) == ("NLTP0001:00", "nl_pad", "15")
    assert pad.told["MODALIAS"] == "acpi:NLTP0001:"


@pytest.mark.parametrize(
    ("label", "port"), [("1-4", "usb1-port4"), ("2-10", "usb2-port10"), ("1-4.2.1", "1-4.2-port1")]
)
def test_the_port_of_a_device_is_named_after_its_hub(label: str, port: str) -> None:
    assert port_of(label) == port


OWN_RULES = """\
global
country DE: DFS-ETSI
\t(2400 - 2483 @ 40), (N/A, 20), (N/A)
\t(5150 - 5250 @ 80), (N/A, 23), (N/A), NO-OUTDOOR, AUTO-BW

phy#0 (self-managed)
country US: DFS-FCC
\t(2402 - 2472 @ 40), (6, 30), (N/A)
"""


def test_radio_rules_of_the_system_and_of_a_radio_are_kept_apart() -> None:
    told = {
        claim.attribute: claim.told
        for claim in rule_claims(
            Shown({"regulatory": {"listing": {"state": "value", "value": []}, "devices": []}}),
            {"iw-reg": ToolOutput(command="", status=0, text=OWN_RULES)},
        )
    }
    assert told == {
        "country": "DE",
        "is_world": False,
        "bands": ("2.4 GHz", "5 GHz"),
        "listen_only_bands": (),
        "own_rules": ("phy0: US",),
    }


JACKS = """# /tmp/told.event4
Input device name: "HDA Fen Headphone"
    Event code 2 (SW_HEADPHONE_INSERT) state 1
    Event code 4 (SW_MICROPHONE_INSERT) state 0
# /tmp/told.event5
Input device name: "HDA Fen HDMI/DP,pcm=3"
    Event code 6 (SW_LINEOUT_INSERT) state 1
    Event code 8 (SW_VIDEOOUT_INSERT) state 1
# /tmp/told.event6
Input device name: "HDA Fen Line"
    Event code 13 (SW_LINEIN_INSERT) state 0
# /tmp/told.event7
Input device name: "Privacy slide"
    Event code 9 (SW_CAMERA_LENS_COVER) state 1
"""


def test_devices_are_chosen_by_their_switches() -> None:
    told = _said(JACKS)
    but = {"VIDEOOUT"}
    plugs = {"HEADPHONE", "LINEOUT", "LINEIN"}
    assert names_with_switches(told, plugs, but) == ("HDA Fen Headphone", "HDA Fen Line")
    assert names_with_switches(told, plugs, but, only_on=True) == ("HDA Fen Headphone",)
    assert names_with_switches(told, {"CAMERA_LENS_COVER"}, only_on=True) == ("Privacy slide",)


LISTED = """**** List of PLAYBACK Hardware Devices ****
card 0: Fen [HDA Fen], device 0: Fen Analog [Fen Analog]
  Subdevices: 0/1
  Subdevice #0: subdevice #0
card 0: Fen [HDA Fen], device 3: HDMI 0 [HDMI 0]
  Subdevices: 1/1
  Subdevice #0: subdevice #0
"""


def test_sound_devices_are_listed_with_what_is_free() -> None:
    first, second = listed(_said(LISTED))
    assert (first.card_id, first.card_name, first.identifier) == ("Fen", "HDA Fen", "Fen Analog")
    assert (first.free, first.there) == (0, 1)
    assert (second.device, second.identifier) == (3, "HDMI 0")
