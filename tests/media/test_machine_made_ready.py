"""The first program's own steps, without a machine: mounts, udev, doors, sessions, its going on."""

import errno
import os
import signal
import subprocess
from collections.abc import Callable
from pathlib import Path

import pytest

from closeout.media.stick import consoles, door, first_program, machine, system, words
from closeout.media.stick.consoles import Consoles, live_consoles
from closeout.media.stick.find import NoStick, Volume
from closeout.media.stick.first_program import Started
from closeout.media.stick.taking import NOTHING, Taken
from media.stick_image import BEGIN, fat_of, make_stick
from oracles import fat_tools

NEEDS_TOOLS = pytest.mark.skipif(
    bool(fat_tools.reason_to_skip()), reason=fat_tools.reason_to_skip()
)

STICK = Volume(device="volume", volume_id="1A2B-3C4D", label="CLOSEOUT")


class Heard(Consoles):
    """Consoles that keep what was said."""

    def __init__(self) -> None:
        super().__init__(())
        self.lines: list[str] = []

    def say(self, text: str) -> None:
        """Kept."""
        self.lines.append(text)

    def fit_to_screens(self) -> None:
        """There are none."""


@pytest.fixture
def heard() -> Heard:
    return Heard()


def test_a_mount_that_fails_raises_with_its_place(tmp_path: Path) -> None:
    with pytest.raises(OSError, match=str(tmp_path)) as failure:
        system.mount("nothing", tmp_path, "no-such-file-system")
    assert failure.value.errno in {errno.ENODEV, errno.EPERM}
    with pytest.raises(OSError, match=str(tmp_path)):
        system.unmount(tmp_path)


def test_buffers_are_those_of_a_device(tmp_path: Path) -> None:
    (tmp_path / "file").touch()
    with pytest.raises(OSError, match="Inappropriate ioctl"):
        system.forget_buffers(tmp_path / "file")


@pytest.mark.live
def test_nothing_that_is_passed_over_names_a_module() -> None:
    """By this machine's own kernel: a device that wants a module has a modalias."""
    asking: dict[str, int] = {}
    for event in Path("/sys/devices").rglob("uevent"):
        subsystem = event.with_name("subsystem")
        if subsystem.exists():
            name = subsystem.resolve().name
            asking[name] = asking.get(name, 0) + event.with_name("modalias").exists()
    seen = asking.keys() & set(machine.NOTHING_TO_LOAD)
    assert len(seen) > 5
    assert {name for name in seen if asking[name]} == set()
    assert any(asking.values())


def test_switching_off_flushes_first(monkeypatch: pytest.MonkeyPatch) -> None:
    done: list[object] = []

    class Library:
        def reboot(self, number: int) -> None:
            done.append(number)

    monkeypatch.setattr(system, "_library", Library)
    monkeypatch.setattr(os, "sync", lambda: done.append("flushed"))
    system.power_off()
    system.take_the_three_keys()
    assert done == ["flushed", system.POWER_OFF, system.KEYS_TELL_US]


def test_what_is_mounted_is_left_and_what_fails_is_said(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, heard: Heard
) -> None:
    places = [str(tmp_path / name) for name in ("there", "new", "refused")]
    monkeypatch.setattr(
        machine, "MOUNTS", [machine.Mount(kind="tmpfs", place=place) for place in places]
    )
    monkeypatch.setattr(os.path, "ismount", lambda place: str(place) == places[0])
    mounted = []

    def mount(_source: str, place: Path, *_: object) -> None:
        if str(place) == places[2]:
            raise OSError(errno.EPERM, os.strerror(errno.EPERM))
        mounted.append(str(place))

    monkeypatch.setattr(machine, "mount", mount)
    monkeypatch.setattr(machine, "PRINTK", tmp_path / "printk")
    machine.mount_all(heard.say)
    assert mounted == [places[1]]
    assert heard.lines == [f"{places[2]} is not there: Operation not permitted."]
    assert (tmp_path / "printk").read_text() == machine.QUIET


@pytest.mark.parametrize("is_uefi", [True, False])
def test_firmware_variables_are_there_to_be_read(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, heard: Heard, *, is_uefi: bool
) -> None:
    mounted: list[tuple[object, ...]] = []
    if is_uefi:
        (tmp_path / "efi").mkdir()
    variables = machine.Mount(
        kind="efivarfs", place=str(tmp_path / "efi/efivars"), flags=machine.FIRMWARE_VARIABLES.flags
    )
    monkeypatch.setattr(machine, "FIRMWARE_VARIABLES", variables)
    monkeypatch.setattr(machine, "mount", lambda *arguments: mounted.append(arguments))
    monkeypatch.setattr(machine, "_run", lambda *_: True)
    machine.mount_firmware_variables(heard.say)
    assert len(mounted) == is_uefi
    assert all(isinstance(one[3], int) and one[3] & system.READ_ONLY for one in mounted)


def ran(*endings: int | Exception) -> Callable[..., object]:
    left = list(endings)

    def run(command: tuple[str, ...], **_: object) -> object:
        ending = left.pop(0) if left else 0
        if isinstance(ending, Exception):
            raise ending
        return subprocess.CompletedProcess(command, ending)

    return run


def test_devices_are_waited_for_and_that_is_said(
    monkeypatch: pytest.MonkeyPatch, heard: Heard
) -> None:
    monkeypatch.setattr(subprocess, "run", ran(0, 0, 0, 1, 1, 0))
    machine.start_devices(heard.say)
    assert heard.lines == [
        "Still waiting for the unit's devices: 15 s.",
        "Still waiting for the unit's devices: 30 s.",
    ]


def test_devices_are_not_waited_for_without_end(
    monkeypatch: pytest.MonkeyPatch, heard: Heard
) -> None:
    monkeypatch.setattr(subprocess, "run", ran(FileNotFoundError(2, "no"), *[1] * 50))
    machine.start_devices(heard.say)
    assert "did not do its part" in heard.lines[0]
    assert heard.lines[-1].endswith("120 s.")


def test_a_door_lets_go_whatever_happens(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    done: list[str] = []
    monkeypatch.setattr(door, "PLACE", tmp_path / "stick")
    monkeypatch.setattr(door, "forget_buffers", lambda device: done.append(f"forget {device.name}"))
    monkeypatch.setattr(door, "mount", lambda *told: done.append(f"mount {told[3] & 1}"))
    monkeypatch.setattr(door, "unmount", lambda _: done.append("unmount"))
    live = door.LiveDoor()
    with live.opened(STICK, writable=False):
        done.append("inside")
    with pytest.raises(KeyError), live.opened(STICK, writable=True):
        raise KeyError
    assert done == [
        *("forget volume", "mount 1", "inside", "unmount"),
        *("forget volume", "mount 0", "unmount"),
    ]


def test_what_went_wrong_before_is_told_and_not_the_unmounting(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def gone(_: object) -> None:
        raise OSError(errno.EIO, "gone")

    monkeypatch.setattr(door, "PLACE", tmp_path / "stick")
    monkeypatch.setattr(door, "forget_buffers", lambda _: None)
    monkeypatch.setattr(door, "mount", lambda *_: None)
    monkeypatch.setattr(door, "unmount", gone)
    with pytest.raises(KeyError), door.LiveDoor().opened(STICK, writable=True):
        raise KeyError


@NEEDS_TOOLS
@pytest.mark.oracle
def test_tables_are_read_off_the_device(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """On a file system that mkfs.vfat made, whole and then with a lost entry."""
    image = make_stick(tmp_path / "stick.img", {"reports/a.zip": bytes(9000)})
    fat = fat_of(image, tmp_path / "volume")
    monkeypatch.setattr(door, "DEVICES", tmp_path)
    live = door.LiveDoor()
    assert door.read_start("volume")[510:512] == b"\x55\xaa"
    assert live.damage(STICK) == ""
    raw = bytearray(fat.read_bytes())
    at = int.from_bytes(raw[14:16], "little") * 512
    raw[at + 4 * 8 : at + 4 * 9] = bytes(4)
    fat.write_bytes(raw)
    assert live.damage(STICK) == "its two tables differ at cluster 8"
    assert BEGIN


def test_live_consoles_without_the_kernels_list(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(consoles, "DEVICES", tmp_path)

    def unread() -> str:
        raise OSError(errno.ENOENT, "no")

    assert [console.path.name for console in live_consoles(unread).all] == ["tty1"]
    assert [console.path.name for console in live_consoles(lambda: "ttyS9 tty0").all] == [
        "tty1",
        "ttyS9",
    ]


class Steps:
    """The first program with every step of it played."""

    def __init__(self, monkeypatch: pytest.MonkeyPatch, folder: Path) -> None:
        self.monkeypatch = monkeypatch
        self.folder = folder
        for name in ("OURS", "OUR_ORDERS", "OUR_REPORTS", "OUR_LEAD", "OUR_STATION"):
            monkeypatch.setattr(first_program, name, folder / name.lower().removeprefix("our_"))
        (folder / "cmdline").write_text("quiet closeout.stick=1a2b-3c4d\n")
        monkeypatch.setattr(first_program, "COMMAND_LINE", folder / "cmdline")
        monkeypatch.setattr(first_program, "BUILT_IN", folder / "built-in")
        monkeypatch.setattr(first_program, "PLACE", folder / "program")
        (folder / "built-in" / "agent").mkdir(parents=True)
        monkeypatch.setattr(first_program, "take_the_three_keys", lambda: None)
        for name in ("mount_all", "start_devices", "mount_firmware_variables"):
            monkeypatch.setattr(machine, name, lambda _: None)
        self.stick(STICK, NOTHING)

    def stick(self, found: Volume | NoStick, taken: Taken) -> None:
        """What is in the port, and on it."""
        self.monkeypatch.setattr(first_program, "wait_for_stick", lambda *_: found)
        self.monkeypatch.setattr(first_program, "take_from", lambda *_: taken)


@pytest.fixture
def steps(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> Steps:
    return Steps(monkeypatch, tmp_path)


def test_the_first_words_come_before_everything(
    steps: Steps, heard: Heard, monkeypatch: pytest.MonkeyPatch
) -> None:
    said_by_then: list[int] = []
    monkeypatch.setattr(machine, "start_devices", lambda _: said_by_then.append(len(heard.lines)))
    steps.stick(STICK, Taken(agent={}, profiles={}, orders={"WO-7.toml": b"o"}))
    started = first_program._start(heard)
    assert said_by_then == [len(words.FIRST_SCREEN)]
    assert heard.lines[: len(words.FIRST_SCREEN)] == list(words.FIRST_SCREEN)
    assert heard.lines[-2:] == [words.READY, ""]
    assert (steps.folder / "orders" / "WO-7.toml").read_bytes() == b"o"
    assert started == Started(imports=steps.folder / "built-in/agent", volume_id="1A2B-3C4D")
    assert started.environment["CLOSEOUT_STICK_VOLUME"] == "1A2B-3C4D"
    assert started.command[1:5] == ("-m", "closeout", "guide", "--keep")


def test_a_station_off_the_stick_seals(steps: Steps, heard: Heard) -> None:
    station = {"station.key": b"secret", "station.toml": b"public"}
    steps.stick(STICK, Taken(agent={}, profiles={}, orders={}, station=station))
    started = first_program._start(heard)
    folder = steps.folder / "station"
    assert {file.name: file.read_bytes() for file in folder.iterdir()} == station
    assert folder.stat().st_mode & 0o077 == 0
    assert started.environment["CLOSEOUT_STATION_KEY"] == str(folder)
    steps.stick(STICK, NOTHING)
    assert "CLOSEOUT_STATION_KEY" not in first_program._start(heard).environment


def test_a_lead_off_the_stick_is_known(steps: Steps, heard: Heard) -> None:
    lead = {"lead.toml": b"public", "2026.7.jws": b"signed"}
    steps.stick(STICK, Taken(agent={}, profiles={}, orders={}, lead=lead))
    started = first_program._start(heard)
    folder = steps.folder / "lead"
    assert {file.name: file.read_bytes() for file in folder.iterdir()} == lead
    assert started.environment["CLOSEOUT_LEAD"] == str(folder / "lead.toml")
    steps.stick(STICK, NOTHING)
    assert "CLOSEOUT_LEAD" not in first_program._start(heard).environment


def test_without_the_stick_it_goes_on(steps: Steps, heard: Heard) -> None:
    steps.stick(NoStick(why="the stick 1A2B-3C4D is not there: put it in"), NOTHING)
    first_program._start(heard)
    assert any("No orders, profiles or agent" in line for line in heard.lines)
    assert words.READY in heard.lines


def test_a_start_over_the_network_asks_for_no_stick(steps: Steps, heard: Heard) -> None:
    (steps.folder / "cmdline").write_text("quiet\n")
    assert first_program._start(heard).volume_id == ""
    assert words.READY_WITHOUT in heard.lines


@pytest.mark.parametrize("runs", [True, False])
def test_an_agent_off_the_stick_must_start(
    steps: Steps, heard: Heard, monkeypatch: pytest.MonkeyPatch, *, runs: bool
) -> None:
    agent = {"closeout/__init__.py": b""}
    if runs:
        agent["closeout/__main__.py"] = b""
    steps.stick(STICK, Taken(agent=agent, profiles={}, orders={}))
    started = first_program._start(heard)
    own = steps.folder / ("program" if runs else "built-in") / "agent"
    assert started.imports == own
    assert any("does not start here" in line for line in heard.lines) == (not runs)
    assert "agent: " in " ".join(heard.lines)
    monkeypatch.setattr(subprocess, "run", ran(subprocess.TimeoutExpired("x", 1)))
    assert first_program._runs(started) is False


@pytest.mark.parametrize(
    ("ending", "told"), [(4, "code 4"), (130, "code 130"), (-9, "signal 9"), (0, words.OFF_BY_HAND)]
)
def test_how_a_session_ends_is_said(
    steps: Steps, heard: Heard, monkeypatch: pytest.MonkeyPatch, ending: int, told: str
) -> None:
    off: list[bool] = []

    class Relay:
        def __init__(self, *_: object) -> None:
            pass

        def serve(self) -> int:
            return ending

    monkeypatch.setattr(first_program, "Relay", Relay)
    monkeypatch.setattr(first_program, "power_off", lambda: off.append(True))
    first_program._hold_session(heard, Started(imports=steps.folder, volume_id=""))
    assert told in heard.lines[-1]
    assert off == ([True] if ending == 0 else [])


class Enough(BaseException):
    """Ends what never ends."""


def test_it_never_ends_by_itself(
    steps: Steps, heard: Heard, monkeypatch: pytest.MonkeyPatch
) -> None:
    turns: list[Started] = []

    def hold(_: Consoles, started: Started) -> None:
        turns.append(started)
        if len(turns) == 3:
            raise Enough
        raise RuntimeError("no terminal")

    def broken(_: Consoles) -> Started:
        raise OSError(errno.ENOMEM, "no memory")

    monkeypatch.setattr(signal, "signal", lambda *_: None)
    monkeypatch.setattr(first_program, "live_consoles", lambda: heard)
    monkeypatch.setattr(first_program, "PAUSE", 0.0)
    monkeypatch.setattr(first_program, "_hold_session", hold)
    monkeypatch.setattr(first_program, "_start", broken)
    with pytest.raises(Enough):
        first_program.run()
    assert len(turns) == 3
    assert turns[0].imports == steps.folder / "built-in" / "agent"
    assert [line for line in heard.lines if "goes on after an error" in line] == heard.lines
    assert len(heard.lines) == 3
