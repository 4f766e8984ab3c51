"""What the guest's own scripts tell the kernel of a radio, and what they do in which order."""

import struct
import sys
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

# In the guest these are plain scripts that find each other by being in one folder.
sys.path.append(str(Path(__file__).parent / "in_guest"))

import access_point
import devices
import netlink
import radio

from notebook.guest_plan import MODULES

ADDRESS = "00:0e:57:31:08:41"
PLAN: dict[str, Any] = {
    "radio": {"address": ADDRESS},
    "touchpad": {"ids": "fe31:0214", "name": "FE310214:00 FE31:0214 Touchpad"},
    "sensors": [
        {"chip": "thermometer", "celsius": 42.0},
        {"chip": "fan", "rpm": 2450},
        {"chip": "accelerometer", "gravity": [0.0, 0.0, 1.0]},
        {"chip": "proximity", "nearness": 20, "lux": 98},
    ],
    "mouse": {"ids": "fe32:0107", "name": "Pebble Mouse", "serial": "LPM-0731", "percent": 74},
    "rfkill": ["wlan"],
}

attribute_maps = st.dictionaries(st.integers(0, 0x3FFF), st.binary(max_size=40), max_size=6)
unsigned = st.integers(0, 0xFFFFFFFF)


# Netlink


@given(attribute_maps)
def test_attributes_come_back(attributes: dict[int, bytes]) -> None:
    encoded = netlink.encode_attributes(attributes)
    assert netlink.decode_attributes(encoded) == attributes
    assert len(encoded) % 4 == 0


@given(st.lists(st.tuples(st.integers(0, 0xFFFF), unsigned, st.binary(max_size=50)), max_size=4))
def test_messages_come_back(told: list[tuple[int, int, bytes]]) -> None:
    sent = [
        netlink.Message(kind=kind, sequence=sequence, body=body) for kind, sequence, body in told
    ]
    raw = b"".join(netlink.encode_message(message) for message in sent)
    assert list(netlink.decode_messages(raw)) == sent


@given(st.integers(0, 255), attribute_maps)
def test_a_command_comes_back(number: int, attributes: dict[int, bytes]) -> None:
    command = netlink.Command(number=number, attributes=attributes)
    assert netlink.decode_command(netlink.encode_command(command)) == command


@given(st.binary(max_size=80))
def test_any_bytes_are_messages_or_one_error(raw: bytes) -> None:
    try:
        for message in netlink.decode_messages(raw):
            netlink.decode_command(message.body)
    except netlink.NetlinkError:
        pass


def test_a_nested_attribute_keeps_its_number() -> None:
    assert netlink.decode_attributes(struct.pack("=HHI", 8, 0x8005, 7)) == {5: b"\x07\0\0\0"}


def test_a_refusal_is_an_error_and_a_number_is_not() -> None:
    refusal = netlink.Message(kind=netlink.ERROR, body=struct.pack("=i", -22) + bytes(16))
    with pytest.raises(OSError, match="Invalid argument"):
        netlink.decode_result(refusal)
    number = netlink.Message(kind=netlink.ERROR, body=struct.pack("=i", 3) + bytes(16))
    assert netlink.decode_result(number) == 3


# The radio


def test_a_new_radio_byte_by_byte() -> None:
    attributes = radio.radio_attributes(ADDRESS)
    command = netlink.Command(number=radio.NEW_RADIO, attributes=attributes)
    assert netlink.encode_command(command) == bytes.fromhex(
        "04 01 0000  0800 0900 01000000  0a00 1600 000e57310841 0000"
    )


@pytest.mark.parametrize("text", ["", "00:0e:57:31:08", "000e57310841", "00:0e:57:31:08:4g"])
def test_what_is_no_address_is_refused(text: str) -> None:
    with pytest.raises(ValueError, match=r".+"):
        radio.address_bytes(text)


def test_blocking_byte_by_byte() -> None:
    assert radio.block_event("wlan") == bytes.fromhex("00000000 01 03 01 00")
    assert radio.block_event("bluetooth") == bytes.fromhex("00000000 02 03 01 00")


# The access point

POINT = access_point.AccessPoint(
    ssid="BENCH", channel=6, address=bytes(5) + b"\x01", signal_dbm=-47
)
RADIO = radio.address_bytes(ADDRESS)


def question(ssid: bytes) -> bytes:
    everyone = b"\xff" * 6
    header = access_point.HEADER.pack(0x0040, 0, everyone, RADIO, everyone, 0)
    return header + bytes([0, len(ssid)]) + ssid + bytes.fromhex("0104 02040b16")


def sent(frame: bytes, megahertz: int = 2437) -> dict[int, bytes]:
    return {
        access_point.TRANSMITTER: RADIO,
        access_point.FRAME: frame,
        access_point.FREQUENCY: struct.pack("=I", megahertz),
        access_point.FLAGS: struct.pack("=I", 1),
        access_point.TRIES: b"\x00\x01" * 4,
        access_point.COOKIE: bytes(8),
    }


@pytest.mark.parametrize("ssid", [b"", b"BENCH"])
def test_who_asks_for_it_or_for_any_hears_of_it(ssid: bytes) -> None:
    response = POINT.response(question(ssid))
    assert response is not None
    assert response[4:10] == RADIO
    assert response[10:16] == response[16:22] == POINT.address
    assert response[36:] == b"\x00\x05BENCH" + bytes.fromhex("0104 82848b96  0301 06")


@given(st.binary(max_size=60))
def test_no_other_frame_is_answered(frame: bytes) -> None:
    is_question = frame[:2] == b"\x40\0" and frame[24:26] == b"\0\0"
    assert is_question or POINT.response(frame) is None
    assert POINT.response(question(b"OTHER")) is None


def test_it_is_heard_on_its_channel_only() -> None:
    heard = access_point.answers(sent(question(b"")), POINT)
    elsewhere = access_point.answers(sent(question(b""), 2412), POINT)
    assert [number for number, _ in heard] == [2, 3]
    assert [number for number, _ in elsewhere] == [3]
    frame = heard[0][1]
    assert struct.unpack("=i", frame[access_point.SIGNAL]) == (-47,)
    assert frame[access_point.RECEIVER] == RADIO


def test_only_what_goes_to_it_arrives() -> None:
    def flags(receiver: bytes) -> int:
        ((_, outcome),) = access_point.answers(sent(b"\x08\0\0\0" + receiver + bytes(14)), POINT)
        (found,) = struct.unpack("=I", outcome[access_point.FLAGS])
        return int(found)

    assert flags(POINT.address) == 1 | access_point.WAS_RECEIVED
    assert flags(RADIO) == 1


# The entry point


def test_every_module_of_a_plan_is_in_the_image() -> None:
    assert set(devices.modules(PLAN)) == set(MODULES)


def test_an_empty_plan_needs_nothing() -> None:
    nothing: dict[str, Any] = {"radio": None, "touchpad": None, "sensors": [], "rfkill": []}
    assert devices.modules(nothing) == {}
    assert [name for name, _ in devices.steps(nothing)] == ["settle"]


def test_the_radio_is_blocked_once_it_is_there() -> None:
    names = [name for name, _ in devices.steps(PLAN)]
    assert names == ["modules", "touchpad", "mouse", "radio", "rfkill", "sensors", "settle"]


def test_one_failure_is_told_and_keeps_nothing_else_away(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    done = []

    def refused() -> None:
        raise OSError(22, "Invalid argument")

    monkeypatch.setattr(
        devices, "steps", lambda _: iter([("radio", refused), ("sensors", lambda: done.append(1))])
    )
    assert devices.run(PLAN) == 1
    assert done == [1]
    assert "radio" in capsys.readouterr().out
