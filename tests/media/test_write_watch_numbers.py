"""The numbers of the watch over a unit's drives, against headers that others wrote and publish.

Linux's `linux/hdreg.h` (package linux-libc-dev) names the commands of ATA, libnvme's `nvme/types.h`
(package libnvme-dev) those of NVMe. Linux's headers of memory cards are in no such package: the
lists of SD were compared by hand with include/linux/mmc/{mmc,sd}.h, those of ATA that `hdreg.h` is
too old for with include/linux/ata.h.
"""

import re
from pathlib import Path
from typing import Final

import pytest

from media.write_watch import ATA, ATA_SMART, NVME_ADMIN, NVME_FEATURES, NVME_IO

ATA_HEADER: Final = Path("/usr/include/linux/hdreg.h")
NVME_HEADER: Final = Path("/usr/include/nvme/types.h")
YOUNGER: Final = {0x2F, 0x47, 0x60}
"""READ LOG EXT, READ LOG DMA EXT and READ FPDMA QUEUED; `hdreg.h` has an old one for the last."""
CHANGES: Final = re.compile(
    r"WRITE|ERASE|FORMAT|SECURITY|SET_MAX|DOWNLOAD|SANITIZE|TRIM|DSM|COPY|MGMT|SEND|COMMIT"
)
"""Words in the name of a command that changes what a drive holds, or who may open it."""

pytestmark = pytest.mark.oracle


def numbers_in(header: Path, pattern: str) -> dict[str, int]:
    if not header.is_file():
        pytest.skip(f"{header} is not installed")
    found = re.findall(pattern, header.read_text("utf-8"))
    return {name.upper(): int(number, 16) for name, number in found}


def ata_numbers(prefix: str) -> dict[str, int]:
    return numbers_in(ATA_HEADER, rf"#define {prefix}_(\w+)\s+0x([0-9a-fA-F]+)")


def plain(name: str) -> str:
    """A name without what the two write differently."""
    words = re.sub(r"[^A-Z0-9]", "", name.upper().replace("MAXIMUM", "MAX"))
    return words.replace("SECTORS", "").replace("ADDRESS", "")


OTHERWISE: Final = {
    "READ MULTIPLE": "MULTREAD",
    "SET MULTIPLE MODE": "SETMULT",
    "INITIALIZE DEVICE PARAMETERS": "SPECIFY",
    "IDENTIFY PACKET DEVICE": "PIDENTIFY",
    "IDENTIFY DEVICE": "IDENTIFY",
    "STANDBY IMMEDIATE": "STANDBYNOW1",
    "CHECK POWER MODE": "CHECKPOWERMODE1",
    "READ DMA EXT": "READDMA_EXT",
    "READ DMA": "READDMA",
}
"""What the header calls a command in words of its own."""


def test_commands_of_ata_have_the_numbers_of_the_kernel() -> None:
    numbers = {plain(name): number for name, number in ata_numbers("WIN").items()}
    for number, name in ATA.items():
        if number not in YOUNGER:
            assert numbers[plain(OTHERWISE.get(name, name))] == number, name


def test_no_command_of_ata_that_changes_a_drive_passes() -> None:
    changing = {name: n for name, n in ata_numbers("WIN").items() if CHANGES.search(name)}
    assert len(changing) > 15
    assert {name for name, number in changing.items() if number in ATA} == set()


def test_what_passes_of_smart_reads() -> None:
    told = {
        "READ DATA": "READ_VALUES",
        "READ THRESHOLDS": "READ_THRESHOLDS",
        "READ LOG": "READ_LOG_SECTOR",
        "RETURN STATUS": "STATUS",
    }
    numbers = ata_numbers("SMART")
    assert {numbers[told[name]]: name for name in told} == dict(ATA_SMART)


@pytest.mark.parametrize(
    ("pattern", "ours", "otherwise"),
    [
        (
            r"nvme_admin_(\w+)\s*= (0x[0-9a-f]{2}),",
            NVME_ADMIN,
            {
                "Delete I/O Submission Queue": "DELETE_SQ",
                "Create I/O Submission Queue": "CREATE_SQ",
                "Delete I/O Completion Queue": "DELETE_CQ",
                "Create I/O Completion Queue": "CREATE_CQ",
                "Abort": "ABORT_CMD",
                "Asynchronous Event Request": "ASYNC_EVENT",
                "Doorbell Buffer Config": "DBBUF",
            },
        ),
        (
            r"NVME_FEAT_FID_(\w+)\s*= (0x[0-9a-f]{2}),",
            NVME_FEATURES,
            {
                "Power Management": "POWER_MGMT",
                "Number of Queues": "NUM_QUEUES",
                "Asynchronous Event Configuration": "ASYNC_EVENT",
                "Autonomous Power State Transition": "AUTO_PST",
                "Host Memory Buffer": "HOST_MEM_BUF",
                "Host Behavior Support": "HOST_BEHAVIOR",
            },
        ),
        (r"nvme_cmd_(\w+)\s*= (0x[0-9a-f]{2}),", NVME_IO, {}),
    ],
    ids=["administration", "features", "data"],
)
def test_commands_of_nvme_have_the_numbers_of_libnvme(
    pattern: str, ours: dict[int, str], otherwise: dict[str, str]
) -> None:
    numbers = numbers_in(NVME_HEADER, pattern)
    for number, name in ours.items():
        assert numbers[otherwise.get(name, name.upper().replace(" ", "_"))] == number, name
    if ours is not NVME_FEATURES:  # a feature is set for a while; what is saved never passes
        changing = {name: n for name, n in numbers.items() if CHANGES.search(name)}
        assert {name for name, number in changing.items() if number in ours} == set()
        assert changing
