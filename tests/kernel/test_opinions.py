"""What the library says, and that its absence is said too."""

import errno
import json
import os
import socket
import subprocess
import sys
from collections.abc import Callable
from ctypes.util import find_library
from pathlib import Path
from types import ModuleType, SimpleNamespace

import pytest

from closeout.decode.second_opinions import (
    decode_charge,
    decode_disks,
    decode_hardware_addresses,
    decode_memory_total,
    decode_processor_brand,
    decode_sensors,
)
from closeout.kernel.failure import ReadError, Reason
from closeout.kernel.live import LiveTree
from closeout.kernel.opinions import QUESTIONS, second_opinion
from closeout.kernel.question_names import (
    BATTERY,
    DISK_PROPERTIES,
    DISKS,
    FANS,
    INTERFACES,
    MEMORY,
    PROCESSOR,
    TEMPERATURES,
)
from closeout.model.reading import Absent, Value
from closeout.readers.second_opinions import PLACE, read_second_opinions


def pretend(monkeypatch: pytest.MonkeyPatch, library: str = "psutil", **functions: object) -> None:
    pretended = ModuleType(library)
    for name, function in functions.items():
        setattr(pretended, name, function)
    monkeypatch.setitem(sys.modules, library, pretended)


def context_of(*devices: object) -> Callable[[], object]:
    """The `Context` of pyudev, which lists these devices to whoever asks for whole disks."""

    def list_devices(**asked: str) -> tuple[object, ...]:
        assert asked == {"subsystem": "block", "DEVTYPE": "disk"}
        return devices

    return lambda: SimpleNamespace(list_devices=list_devices)


def raising(failure: Exception) -> Callable[[], object]:
    def refuse() -> object:
        raise failure

    return refuse


def failure_of(question: str) -> ReadError:
    with pytest.raises(ReadError) as caught:
        second_opinion(question)
    return caught.value


@pytest.fixture
def libudev() -> None:
    """What pyudev stands on; skips, and says so, where the system has none."""
    if find_library("udev") is None:
        pytest.skip("libudev is not installed here")


@pytest.mark.live
@pytest.mark.parametrize("question", sorted(set(QUESTIONS) - {DISKS}))
def test_psutil_at_hand_answers_with_json(question: str) -> None:
    answer = json.loads(second_opinion(question))
    assert answer is None or isinstance(answer, dict)


@pytest.mark.live
@pytest.mark.usefixtures("libudev")
def test_pyudev_at_hand_names_the_disks_that_the_kernel_lists() -> None:
    disks = json.loads(second_opinion(DISKS))
    assert {disk["name"] for disk in disks} == {path.name for path in Path("/sys/block").iterdir()}
    assert all(set(disk) == {"name", *DISK_PROPERTIES} for disk in disks)


@pytest.mark.live
@pytest.mark.usefixtures("libudev")
def test_what_the_libraries_at_hand_say_is_understood() -> None:
    assert decode_memory_total(second_opinion(MEMORY)) > 0
    assert "lo" in decode_hardware_addresses(second_opinion(INTERFACES))
    decode_charge(second_opinion(BATTERY))
    decode_sensors(second_opinion(TEMPERATURES))
    decode_sensors(second_opinion(FANS))
    assert decode_processor_brand(second_opinion(PROCESSOR))
    names = {disk["name"] for disk in json.loads(second_opinion(DISKS))}
    assert set(decode_disks(second_opinion(DISKS))) == names


@pytest.mark.live
@pytest.mark.usefixtures("libudev")
def test_the_machine_at_hand_agrees_with_itself() -> None:
    found = read_second_opinions(LiveTree(), PLACE)
    opinions = (
        found.psutil_disagreements,
        found.pyudev_disagreements,
        found.cpuinfo_disagreements,
    )
    for reading in opinions:
        # A guest without udev's database has nothing that both could tell of its disks.
        assert isinstance(reading, Absent) or reading == Value(value=(), sources=reading.sources)
    assert isinstance(found.psutil_disagreements, Value)


def test_no_battery_is_an_answer(monkeypatch: pytest.MonkeyPatch) -> None:
    pretend(monkeypatch, sensors_battery=lambda: None)
    assert second_opinion("psutil sensors_battery") == b"null"


def test_a_battery_is_told_whole(monkeypatch: pytest.MonkeyPatch) -> None:
    battery = SimpleNamespace(_asdict=lambda: {"percent": 81.5, "power_plugged": True})
    pretend(monkeypatch, sensors_battery=lambda: battery)
    assert second_opinion("psutil sensors_battery") == b'{"percent": 81.5, "power_plugged": true}'


def test_only_hardware_addresses_are_told(monkeypatch: pytest.MonkeyPatch) -> None:
    addresses = [
        SimpleNamespace(family=socket.AF_PACKET, address="02:00:00:00:00:01"),
        SimpleNamespace(family=socket.AF_INET, address="192.0.2.7"),
    ]
    pretend(monkeypatch, net_if_addrs=lambda: {"wlan0": addresses})
    assert second_opinion("psutil net_if_addrs") == b'{"wlan0": ["02:00:00:00:00:01"]}'


@pytest.mark.parametrize(
    ("question", "function"),
    [(TEMPERATURES, "sensors_temperatures"), (FANS, "sensors_fans")],
)
def test_sensors_are_told_by_chip_with_label_and_value(
    monkeypatch: pytest.MonkeyPatch, question: str, function: str
) -> None:
    sensor = SimpleNamespace(label="Composite", current=41.85, high=81.85)
    pretend(monkeypatch, **{function: lambda: {"nvme": [sensor]}})
    assert json.loads(second_opinion(question)) == {
        "nvme": [{"label": "Composite", "current": 41.85}]
    }


def test_disks_are_told_by_kernel_name_with_two_properties(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    disks = (
        SimpleNamespace(device_path="/devices/x/block/sda", properties={"ID_MODEL": "Larch"}),
        SimpleNamespace(
            device_path="/devices/x/block/cciss!c0d0",
            properties={"ID_SERIAL_SHORT": "41", "DEVLINKS": "/dev/disk/by-label/PRIVATE"},
        ),
    )
    pretend(monkeypatch, "pyudev", Context=context_of(*disks))
    assert json.loads(second_opinion(DISKS)) == [
        {"name": "cciss!c0d0", "ID_MODEL": None, "ID_SERIAL_SHORT": "41"},
        {"name": "sda", "ID_MODEL": "Larch", "ID_SERIAL_SHORT": None},
    ]


def cpuid_telling(brand: Callable[[int], str]) -> dict[str, object]:
    """What `cpuinfo` has of its own, with a processor that tells this."""
    cpuid = SimpleNamespace(get_max_extension_support=lambda: 7, get_processor_brand=brand)
    return {"CPUID": lambda: cpuid, "DataSource": SimpleNamespace()}


def test_the_processor_is_asked_itself(monkeypatch: pytest.MonkeyPatch) -> None:
    pretend(monkeypatch, "cpuinfo", **cpuid_telling(lambda support: f"Calder C{support}"))
    assert second_opinion(PROCESSOR) == b'{"brand": "Calder C7"}'
    assert sys.modules["cpuinfo"].DataSource.has_sestatus() is False


def test_machine_code_that_may_not_be_run_is_no_opinion(monkeypatch: pytest.MonkeyPatch) -> None:
    def refuse(_: int) -> str:
        raise PermissionError(errno.EACCES, "no")

    pretend(monkeypatch, "cpuinfo", **cpuid_telling(refuse))
    assert failure_of(PROCESSOR).reason is Reason.NOT_OFFERED


def test_machine_code_is_run_on_its_own_machine_alone(monkeypatch: pytest.MonkeyPatch) -> None:
    pretend(monkeypatch, "cpuinfo", **cpuid_telling(lambda _: "Calder C7"))
    monkeypatch.setattr(os, "uname", lambda: SimpleNamespace(machine="aarch64", sysname="Linux"))
    assert failure_of(PROCESSOR).reason is Reason.NOT_OFFERED


@pytest.mark.parametrize("question", QUESTIONS)
def test_an_absent_library_is_not_offered(monkeypatch: pytest.MonkeyPatch, question: str) -> None:
    monkeypatch.setitem(sys.modules, question.partition(" ")[0], None)
    assert failure_of(question).reason is Reason.NOT_OFFERED


@pytest.mark.parametrize(
    "failure", [ImportError("No library named udev"), OSError("cannot open shared object file")]
)
def test_pyudev_without_libudev_is_not_offered(
    monkeypatch: pytest.MonkeyPatch, failure: Exception
) -> None:
    pretend(monkeypatch, "pyudev", Context=raising(failure))
    assert failure_of(DISKS).reason is Reason.NOT_OFFERED


def test_an_old_library_is_not_offered(monkeypatch: pytest.MonkeyPatch) -> None:
    pretend(monkeypatch)
    assert failure_of("psutil virtual_memory").reason is Reason.NOT_OFFERED


def test_the_kernels_failure_stays_the_kernels(monkeypatch: pytest.MonkeyPatch) -> None:
    pretend(monkeypatch, sensors_battery=raising(PermissionError(errno.EACCES, "no")))
    assert failure_of("psutil sensors_battery").code == "EACCES"


def test_any_other_question_is_not_offered() -> None:
    assert failure_of("psutil users").reason is Reason.NOT_OFFERED


WATCHED = """
import sys
started = []
sys.addaudithook(lambda event, _: started.append(event) if event in EVENTS else None)
from closeout.kernel.failure import ReadError
from closeout.kernel.opinions import QUESTIONS, second_opinion
for question in QUESTIONS:
    try:
        second_opinion(question)
    except ReadError:
        pass
sys.exit(str(started) if started else 0)
"""
PROGRAM_EVENTS = {"subprocess.Popen", "os.system", "os.posix_spawn", "os.exec", "os.fork"}


@pytest.mark.live
def test_no_library_runs_a_program() -> None:
    script = f"EVENTS = {PROGRAM_EVENTS}\n{WATCHED}"
    run = subprocess.run([sys.executable, "-c", script], capture_output=True, check=False)
    assert run.returncode == 0, run.stderr
