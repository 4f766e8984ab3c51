"""The watch over a unit's drives: what it lets pass, and that it lets nothing else pass."""

import os
from pathlib import Path

import pytest

from media.customer_disk import PARTITIONS, make_customer_disk, signatures
from media.write_watch import (
    ATA,
    NVME_ADMIN,
    NVME_FEATURES,
    NVME_IO,
    SD,
    SD_APPLICATION,
    digests,
    judge_trace,
    number_of,
    opened_for_writing,
)
from oracles import fat_tools

NEEDS_TOOLS = pytest.mark.skipif(
    bool(fat_tools.reason_to_skip()), reason=fat_tools.reason_to_skip()
)

FRAME = "handle_cmd_fis_dump ahci(0x55)[0]: \n0x00: 27 80 {:02x} {:02x} 00 00 00 a0\n"


def nvme(queue: str, opcode: int) -> str:
    return f"pci_nvme_{queue}_cmd cid 3 sqid 0 opc {opcode:#x} opname 'X'\n"


def feature(number: int, saved: int = 0) -> str:
    return f"pci_nvme_setfeat cid 18 nsid 0x0 fid {number:#x} save {saved:#x} cdw11 0x0\n"


def sd(kind: str, number: int) -> str:
    mark = "A" if kind == "app" else ""
    return f"sdcard_{kind}_command SD  NAME/{mark}CMD{number:02d} arg 0x00000000 (state idle)\n"


def ide(command: int) -> str:
    return f"ide_exec_cmd IDE exec cmd: bus 0x5; state 0x5; cmd {command:#04x}\n"


def queued(command: int) -> str:
    return f"process_ncq_command ahci(0x55)[0][tag:1]: NCQ op {command:#04x} on sectors [0,7]\n"


ALLOWED = (
    *(nvme("admin", opcode) for opcode in NVME_ADMIN),
    *(nvme("io", opcode) for opcode in NVME_IO),
    *(feature(number) for number in NVME_FEATURES),
    *(ide(command) for command in ATA),
    *(FRAME.format(command, 0xD0 if command == 0xB0 else 0x03) for command in ATA),
    *(sd("normal", number) for number in SD),
    *(sd("app", number) for number in SD_APPLICATION),
    queued(0x60),
)
REFUSED = {
    "NVMe write": nvme("io", 0x01),
    "NVMe flush": nvme("io", 0x00),
    "NVMe write zeroes": nvme("io", 0x08),
    "NVMe dataset management": nvme("io", 0x09),
    "NVMe format": nvme("admin", 0x80),
    "NVMe sanitize": nvme("admin", 0x84),
    "NVMe security send": nvme("admin", 0x81),
    "NVMe firmware commit": nvme("admin", 0x10),
    "NVMe namespace management": nvme("admin", 0x0D),
    "NVMe write protection": feature(0x84),
    "NVMe feature that is saved": feature(0x0C, 1),
    "ATA write": ide(0x35),
    "ATA queued write": queued(0x61),
    "ATA trim": FRAME.format(0x06, 0x01),
    "ATA security erase": ide(0xF4),
    "ATA self-test": FRAME.format(0xB0, 0xD4),
    "ATA attribute saving": FRAME.format(0xB0, 0xD2),
    "ATA write cache": FRAME.format(0xEF, 0x82),
    "ATA download": ide(0x92),
    "SD write": sd("normal", 24),
    "SD writes": sd("normal", 25),
    "SD register": sd("normal", 27),
    "SD erase": sd("normal", 38),
    "SD lock": sd("normal", 42),
    "SD erase before a write": sd("app", 23),
}


def test_what_reads_and_what_brings_a_drive_up_passes() -> None:
    judged = judge_trace("".join(ALLOWED))
    assert judged.refused == ()
    assert min(judged.counts.values()) > 10


@pytest.mark.parametrize("name", REFUSED)
def test_every_other_command_is_caught(name: str) -> None:
    """Among all that pass, and it alone."""
    judged = judge_trace("".join((*ALLOWED, REFUSED[name], *ALLOWED)))
    assert len(judged.refused) == 1


@pytest.mark.parametrize("opcode", range(256))
def test_no_opcode_passes_that_is_not_listed(opcode: int) -> None:
    for line, known in (
        (nvme("admin", opcode), opcode in NVME_ADMIN),
        (nvme("io", opcode), opcode in NVME_IO),
        (ide(opcode), opcode in ATA),
    ):
        assert (judge_trace(line).refused == ()) == known


def test_an_open_for_writing_is_known_by_its_mode() -> None:
    trace = "".join(
        f" p-1 [0] ..... 5.0: opened: (bdev_open+0x4/0x3b0) device={device} mode={mode}\n"
        for device, mode in ((number_of("8:0"), "0x9"), (number_of("8:17"), "0x23"))
    )
    assert opened_for_writing(trace) == {number_of("8:17")} == {8388625}


@NEEDS_TOOLS
@pytest.mark.oracle
def test_blkid_takes_each_partition_for_what_it_is(tmp_path: Path) -> None:
    """Libblkid's probes know magic, version and checksum of each kind."""
    image = make_customer_disk(tmp_path / "disk", 128)
    assert signatures(image) == list(PARTITIONS)


def test_a_changed_byte_changes_the_digest(tmp_path: Path) -> None:
    image = tmp_path / "disk"
    image.write_bytes(bytes(5000))
    before = digests([image])
    image.write_bytes(bytes(4999) + b"\1")
    assert digests([image]) != before


def test_a_byte_in_the_hole_of_a_large_drive_changes_the_digest(tmp_path: Path) -> None:
    """And a hole that was written with zeros does not: it reads as it did."""
    image = tmp_path / "disk"
    seen = []
    for place, content in ((0, b"\1"), (1 << 38, b"\2"), (1 << 38, b"\3"), (1 << 37, bytes(9000))):
        with image.open("r+b" if image.exists() else "wb") as opened:
            opened.truncate(1 << 39)
            opened.seek(place)
            opened.write(content)
        seen.append(digests([image])["disk"])
    assert len(set(seen[:3])) == 3
    assert seen[3] == seen[2]
    os.truncate(image, 1 << 40)
    assert digests([image])["disk"] != seen[2]
