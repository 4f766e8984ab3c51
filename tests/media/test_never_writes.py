"""A unit with disks of every kind is started and checked whole, and nothing is written to them.

The same watch over a run in which something is: without it the first would prove nothing.
"""

import re
from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import partial

import pytest

from media.customer_disk import PARTITIONS, make_customer_disk, signatures
from media.stick_boot import Setup, StickRun, started_from_stick, stick_arguments
from media.stick_image import VOLUME_ID, make_stick
from media.write_watch import (
    PROBE,
    Judged,
    digests,
    judge_trace,
    number_of,
    opened_for_writing,
    trace_arguments,
)
from notebook.description import Drive, Notebook, load_notebook
from notebook.emulator import Places
from notebook.image import Image

DISK_MIB = 128
DISKS = "cd /sys/class/block; for d in *; do echo $d $(cat $d/dev) $(readlink $d); done"
BUSES = {"nvme": r"/nvme\d+n\d+$", "ata": r"/ata\d+/.*/block/sd[a-z]$", "sd": r"/mmcblk\d+$"}
TRACING = "/sys/kernel/tracing"
TRACE = f"mount -t tracefs tracefs {TRACING} 2>/dev/null; cat {TRACING}/trace"
PLANTED = "dd if=/dev/zero of=/dev/{} bs=4096 count=1 seek=16 conv=fsync"


def unit() -> Notebook:
    """SATA, NVMe and a memory card, each as large as the file that is laid under it."""
    notebook = load_notebook("osier-15")
    (name, sata) = next((name, one) for name, one in notebook.drive.items() if one.bus == "sata")
    nvme = Drive(bus="nvme", serial="PS25620001", mib=DISK_MIB)
    assert notebook.card_reader
    return replace(
        notebook,
        drive={name: replace(sata, mib=DISK_MIB), "second": nvme},
        card_reader=replace(notebook.card_reader, mib=DISK_MIB),
    )


@dataclass(kw_only=True)
class Watched:
    """What a run was watched for."""

    before: dict[str, str]
    after: dict[str, str]
    judged: Judged
    opened: set[int]
    drives: dict[str, int]
    said: str


@pytest.fixture(scope="module")
def watch(
    image: Image, tmp_path_factory: pytest.TempPathFactory
) -> Callable[[Callable[[StickRun], None]], Watched]:
    """A function that starts a unit, does something with it, and says what was written."""

    def run(act: Callable[[StickRun], None]) -> Watched:
        folder = tmp_path_factory.mktemp("watched")
        stick = make_stick(folder / "stick.img")
        trace, before = folder / "trace", {}

        def prepare(places: Places) -> None:
            files = [places.drive(name) for name in (*unit().drive, "card")]
            for file in files:
                make_customer_disk(file, DISK_MIB)
                assert signatures(file) == list(PARTITIONS)
            before.update(digests(files))

        setup = Setup(
            kernel_options=f"closeout.stick={VOLUME_ID} {PROBE}",
            arguments=[*stick_arguments(stick), *trace_arguments(trace)],
            prepare=prepare,
        )
        with started_from_stick(unit(), image, setup) as started:
            act(started)
            drives = {bus: number for bus, (_, number) in disks_of(started).items()}
            opened = opened_for_writing(started.session.run("sh", "-c", TRACE).text)
            if "What now?" in started.console.seen:
                started.console.type("off\r")
                started.console.wait_for_end()
            after = digests(started.places.drive(name) for name in (*unit().drive, "card"))
            said = started.console.seen
        judged = judge_trace(trace.read_text("utf-8", "replace"))
        return Watched(
            before=before, after=after, judged=judged, opened=opened, drives=drives, said=said
        )

    return run


def whole_check(run: StickRun) -> None:
    run.check()
    run.console.wait_for("What now? ")


def planted(bus: str, run: StickRun) -> None:
    run.console.wait_for("Scan the order: ")
    name, _ = disks_of(run)[bus]
    assert run.session.run("sh", "-c", PLANTED.format(name)).status == 0


def disks_of(run: StickRun) -> dict[str, tuple[str, int]]:
    """The unit's own disk on each bus, by the name and the number that this start gave it."""
    lines = run.session.run("sh", "-c", DISKS).text.splitlines()
    found = {
        bus: (name, number_of(number))
        for name, number, place in (line.split() for line in lines)
        for bus, form in BUSES.items()
        if re.search(form, place)
    }
    assert set(found) == set(BUSES), lines
    return found


pytestmark = [pytest.mark.notebook, pytest.mark.slow, pytest.mark.xdist_group("stick-watch")]


def test_nothing_is_written_in_a_whole_check(
    watch: Callable[[Callable[[StickRun], None]], Watched],
) -> None:
    """From the kernel's start to switching off; the stick alone is opened for writing.

    The copy of the stick on each disk has its label and id, and is not taken for it.
    """
    seen = watch(whole_check)
    assert "Kept on the stick 1A2B-3C4D" in seen.said
    assert seen.after == seen.before
    assert seen.judged.refused == ()
    assert min(seen.judged.counts.values()) > 10, seen.judged.counts
    assert seen.opened, "the probe saw not even the stick"
    assert not {device for device in seen.opened if is_of(device, seen.drives)}


@pytest.mark.thorough
@pytest.mark.parametrize(("bus", "told"), [("nvme", "NVMe io"), ("ata", "ATA"), ("sd", "SD")])
def test_a_planted_write_is_caught(
    watch: Callable[[Callable[[StickRun], None]], Watched], bus: str, told: str
) -> None:
    seen = watch(partial(planted, bus))
    assert any(told in refused for refused in seen.judged.refused)
    assert seen.drives[bus] in seen.opened


def is_of(device: int, drives: dict[str, int]) -> bool:
    """Whether it is one of the drives or a partition of one.

    SCSI disks have sixteen minors each, memory cards eight (Documentation/admin-guide/devices.txt);
    partitions of NVMe drives, major 259, are counted through.
    """
    major, minor = device >> 20, device & 0xFFFFF
    for bus, number in drives.items():
        span = {"ata": 16, "sd": 8, "nvme": 1 << 20}[bus]
        own_major, own_minor = number >> 20, number & 0xFFFFF
        if major == own_major and minor // span == own_minor // span:
            return True
    return False
