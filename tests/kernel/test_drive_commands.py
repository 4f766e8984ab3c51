"""What is sent to a drive: commands of a closed list, every one of them a reading one."""

import ast
import ctypes
import errno
from pathlib import Path

import pytest

import closeout
from closeout.kernel.drive_commands import (
    FROM_DEVICE,
    NO_TRANSFER,
    NVME_ADMIN,
    NVME_COMMAND,
    OPAL_STATUS,
    READING,
    SG_HEADER,
    SG_IO,
    AtaCommand,
    read_nvme_health,
    read_opal_status,
    send_ata,
)
from strategies.drive_kernel import DrawnDrive, descriptor_sense, fixed_sense

READS = {
    (0xEC, 0x00): "IDENTIFY DEVICE",
    (0xB0, 0xD0): "SMART READ DATA",
    (0xB0, 0xD1): "SMART READ THRESHOLDS",
    (0xB0, 0xDA): "SMART RETURN STATUS",
    (0xE5, 0x00): "CHECK POWER MODE",
}
"""Command and feature of T13 ACS-3 that change nothing in a drive."""
SOURCES = Path(closeout.__file__).parent


def test_every_ata_command_reads_and_none_sends() -> None:
    sent = {(command.value[14], command.value[4]) for command in AtaCommand}
    assert sent == READS.keys()
    for command in AtaCommand:
        block = command.value
        assert len(block) == 16
        assert block[0] == 0x85
        is_data_in = command in READING
        assert block[1] == (4 << 1 if is_data_in else 3 << 1)
        assert block[2] == (0x0E if is_data_in else 0x20)
        assert block[6] == is_data_in
        if block[14] == 0xB0:
            assert (block[10], block[12]) == (0x4F, 0xC2)
        others = set(range(16)) - {0, 1, 2, 4, 6, 10, 12, 14}
        assert all(block[at] == 0 for at in others)


@pytest.mark.parametrize(
    "refused",
    [
        bytes.fromhex("85 0a 06 00 00 00 01 00 00 00 00 00 00 00 35 00"),
        AtaCommand.IDENTIFY.value,
        bytes(16),
        "IDENTIFY",
        None,
        0xEC,
    ],
)
def test_anything_but_a_command_of_the_list_is_refused_unsent(refused: object) -> None:
    drive = DrawnDrive()
    with pytest.raises(TypeError, match="no command that may be sent"):
        send_ata(3, refused, drive.ioctl)  # type: ignore[arg-type]  # that is the test
    assert drive.requests == []


def test_the_list_cannot_grow() -> None:
    with pytest.raises(ValueError, match="is not a valid AtaCommand"):
        AtaCommand(bytes.fromhex("85 06 20 00 00 00 00 00 00 00 00 00 00 00 f6 00"))
    with pytest.raises(TypeError, match="cannot extend"):

        class _More(AtaCommand):  # type: ignore[misc]  # that is the test
            ERASE = b""

    assert len(AtaCommand) == len(READS)


def test_no_other_module_reaches_a_device() -> None:
    """Nobody else imports what could send a command, but modules whose own tests bind them.

    Those of the stick ask a console for its size, and drop what the kernel keeps of the stick; an
    export locks the folder that it writes.
    """
    importers = {
        path.relative_to(SOURCES).as_posix()
        for path in SOURCES.rglob("*.py")
        if "fcntl" in _imports(path)
    }
    assert importers == {
        "depot/remnants.py",
        "kernel/drive_commands.py",
        "kernel/input_switches.py",
        "kernel/network_questions.py",
        "media/stick/consoles.py",
        "media/stick/system.py",
    }


def _imports(path: Path) -> set[str]:
    found: set[str] = set()
    for node in ast.walk(ast.parse(path.read_text("utf-8"))):
        if isinstance(node, ast.Import):
            found |= {alias.name for alias in node.names}
        if isinstance(node, ast.ImportFrom) and node.module:
            found.add(node.module)
    return found


def test_the_health_log_is_the_only_admin_command() -> None:
    drive = DrawnDrive(log=bytes(range(256)) * 2)
    assert read_nvme_health(3, drive.ioctl) == bytes(range(256)) * 2
    ((request, command),) = drive.requests
    assert request == NVME_ADMIN
    fields = NVME_COMMAND.unpack(command)
    address = fields[7]
    assert address
    assert fields == (
        *(0x02, 0, 0, 0xFFFF_FFFF, 0, 0, 0, address, 0, 512),
        *(0x007F_0002, 0, 0, 0, 0, 0, 0, 0),
    )
    assert NVME_COMMAND.size == 72


def test_a_controller_that_refuses_is_an_error() -> None:
    with pytest.raises(OSError, match="refused") as caught:
        read_nvme_health(3, DrawnDrive(nvme_status=0x2002).ioctl)
    assert caught.value.errno == errno.EIO


def test_the_opal_question_hands_nothing_in() -> None:
    drive = DrawnDrive(opal=b"\x0f\0\0\0\0\0\0\0")
    assert read_opal_status(3, drive.ioctl) == b"\x0f\0\0\0\0\0\0\0"
    assert drive.requests == [(OPAL_STATUS, bytes(8))]


@pytest.mark.parametrize("command", sorted(READING, key=lambda command: command.name))
def test_a_block_comes_from_the_device(command: AtaCommand) -> None:
    drive = DrawnDrive(blocks={command: b"\x5a" * 512})
    assert send_ata(3, command, drive.ioctl) == b"\x5a" * 512
    ((request, header),) = drive.requests
    assert request == SG_IO
    fields = SG_HEADER.unpack(header)
    assert (fields[0], fields[1], fields[2], fields[5]) == (ord("S"), FROM_DEVICE, 16, 512)
    assert drive.sent == [command.value]


@pytest.mark.parametrize("sense", [descriptor_sense, fixed_sense])
def test_registers_come_out_of_either_form_of_sense(sense: object) -> None:
    assert callable(sense)
    drive = DrawnDrive(sense=sense(count=0xFF, mid=0x4F, high=0xC2))
    assert send_ata(3, AtaCommand.SMART_STATUS, drive.ioctl) == bytes((0xFF, 0x4F, 0xC2))
    assert SG_HEADER.unpack(drive.requests[0][1])[1] == NO_TRANSFER


@pytest.mark.parametrize(
    ("drive", "number"),
    [
        (DrawnDrive(host=0x01), errno.ENODEV),
        (DrawnDrive(host=0x03), errno.ETIMEDOUT),
        (DrawnDrive(host=0x07), errno.EIO),
        (DrawnDrive(status=0x08), errno.EIO),
        (DrawnDrive(left=12), errno.EIO),
        (DrawnDrive(status=0x02, sense=bytes((0x70, 0, 0x05)) + bytes(29)), errno.EOPNOTSUPP),
        (DrawnDrive(status=0x02, sense=bytes((0x72, 0x0B)) + bytes(30)), errno.EOPNOTSUPP),
        (DrawnDrive(status=0x02, sense=bytes((0x70, 0, 0x03)) + bytes(29)), errno.EIO),
        (DrawnDrive(raises=errno.EPERM), errno.EPERM),
    ],
)
def test_a_block_that_does_not_come_is_an_error(drive: DrawnDrive, number: int) -> None:
    with pytest.raises(OSError) as caught:  # noqa: PT011 - the errno is looked at below
        send_ata(3, AtaCommand.SMART_DATA, drive.ioctl)
    assert caught.value.errno == number


@pytest.mark.parametrize(
    ("sense", "number"),
    [
        (descriptor_sense(count=0, mid=0, high=0, status=0x51), errno.EOPNOTSUPP),
        (bytes(32), errno.EIO),
        (bytes((0x70, 0, 0x05)) + bytes(29), errno.EOPNOTSUPP),
        (bytes((0x72, 0x0B)) + bytes(30), errno.EOPNOTSUPP),
    ],
)
def test_registers_that_do_not_come_are_an_error(sense: bytes, number: int) -> None:
    with pytest.raises(OSError) as caught:  # noqa: PT011 - the errno is looked at below
        send_ata(3, AtaCommand.POWER_MODE, DrawnDrive(sense=sense).ioctl)
    assert caught.value.errno == number


def test_structures_have_the_sizes_of_the_kernels_headers() -> None:
    wide = ctypes.sizeof(ctypes.c_void_p) == 8
    assert SG_HEADER.size == (88 if wide else 64)
    assert NVME_COMMAND.size == NVME_ADMIN >> 16 & 0x3FFF
    assert OPAL_STATUS >> 16 & 0x3FFF == 8
