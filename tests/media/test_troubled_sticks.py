"""Sticks that do not take a report, put in one after the other: said in one line, offered again.

One start; the report of its check waits in memory until the last stick, a good one, takes it.
"""

import os
import re
import subprocess
import time
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

import pytest

from closeout.decode.report_file import decode_report_file
from media.stick_boot import Setup, StickRun, started_from_stick
from media.stick_image import (
    BEGIN,
    FAT_MIB,
    MIB,
    VOLUME_ID,
    fat_of,
    make_stick,
    put_file,
    reports_on,
)
from notebook.description import load_notebook
from notebook.image import Image

pytestmark = [
    pytest.mark.notebook,
    pytest.mark.slow,
    pytest.mark.thorough,
    pytest.mark.xdist_group("stick-trouble"),
]

OTHER = "5E6F-7A8B"
NOT_KEPT = re.compile(r"Not kept: (\S+) on stick 1A2B-3C4D: (.*?)\. It is in\s+memory\.", re.DOTALL)
SLOW_BYTES = 20_000
"""A second, so that a stick can be pulled while it takes a report."""


class Port:
    """A USB port of the running unit: sticks are put in and pulled out."""

    def __init__(self, run: StickRun) -> None:
        self._run = run
        self._number = 0

    def put_in(self, image: Path, *, readonly: bool = False, slow: bool = False) -> str:
        """Puts it in and waits until the guest shows its partition; the name to pull it by."""
        self._number += 1
        name = f"hand{self._number}"
        node: dict[str, object] = {
            "driver": "raw",
            "node-name": name,
            "read-only": readonly,
            "file": {"driver": "file", "filename": str(image), "read-only": readonly},
        }
        if slow:
            node |= {"driver": "throttle", "throttle-group": "slow"}
        self._run.orders.give("blockdev-add", **node)
        self._run.orders.give(
            "device_add", driver="usb-storage", id=name, drive=name, bus="hand.0", removable=True
        )
        self._wait(is_there=True)
        return name

    def pull(self, name: str) -> None:
        """Pulls it, and waits until the guest has seen that."""
        self._run.orders.give("device_del", id=name)
        self._wait(is_there=False)

    @contextmanager
    def holding(self, image: Path, *, readonly: bool = False) -> Iterator[None]:
        """In for the block."""
        name = self.put_in(image, readonly=readonly)
        yield
        self.pull(name)

    def _wait(self, *, is_there: bool) -> None:
        look = "ls -l /sys/class/block | grep -c '/usb.*/sd[a-z]/sd[a-z]1$'"
        until = time.monotonic() + 120
        while (self._run.session.run("sh", "-c", look).text.strip() != "0") != is_there:
            assert time.monotonic() < until, "the guest does not see the stick"
            time.sleep(0.5)


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return tmp_path_factory.mktemp("sticks")


def full(folder: Path) -> Path:
    """A stick with room for no report."""
    files = {f"holiday/{number}.bin": os.urandom(MIB) for number in range(FAT_MIB - 2)}
    image = make_stick(folder / "full.img", files)
    fat = fat_of(image, folder / "filled")
    with suppress(subprocess.CalledProcessError):  # mcopy says that it is full
        for number in range(400):
            put_file(fat, f"holiday/small-{number}.bin", os.urandom(10_000))
    with image.open("r+b") as opened:
        opened.seek(BEGIN)
        opened.write(fat.read_bytes())
    return image


def damaged(folder: Path) -> Path:
    """A stick whose first table lost a part of a chain."""
    image = make_stick(folder / "damaged.img", {"holiday/1.bin": os.urandom(MIB)})
    with image.open("r+b") as opened:
        opened.seek(BEGIN)
        boot = opened.read(512)
        opened.seek(BEGIN + int.from_bytes(boot[14:16], "little") * 512 + 512)
        opened.write(bytes(1024))
    return image


def test_the_report_waits_until_a_stick_takes_it(  # noqa: PLR0915 - one start for all of them
    image: Image, folder: Path
) -> None:
    good = make_stick(folder / "good.img")
    setup = Setup(
        kernel_options=f"closeout.stick={VOLUME_ID}",
        arguments=(
            *("-device", "qemu-xhci,id=hand"),
            *("-object", f"throttle-group,id=slow,x-bps-write={SLOW_BYTES}"),
        ),
    )
    with started_from_stick(load_notebook("osier-15"), image, setup) as run:
        run.console.wait_for("No orders, profiles or agent are taken off a stick")
        run.check()
        run.console.wait_for("Not kept on a stick: 1 report is in memory.")
        port = Port(run)
        with port.holding(full(folder)):
            assert "it is full" in offered(run)
        with port.holding(good, readonly=True):
            assert "it takes no writing" in offered(run)
        with port.holding(damaged(folder)):
            assert "its two tables differ at cluster" in offered(run)
        name = port.put_in(make_stick(folder / "slow.img"), slow=True)
        run.console.answer("What now? ", "keep")
        time.sleep(4)
        port.pull(name)
        assert "it was pulled too early" in heard(run)
        with port.holding(make_stick(folder / "other.img", volume_id=OTHER)):
            run.console.answer("What now? ", "keep")
            run.console.wait_for(f"Another stick is in, {OTHER} and not {VOLUME_ID}.")
            run.console.answer("yes, no: ", "no")
            run.console.wait_for("Not kept on a stick")
        with port.holding(good):
            run.console.answer("What now? ", "keep")
            run.console.wait_for("Kept on the stick 1A2B-3C4D: reports/")
            run.console.wait_for("What now? ")
    ((_, raw),) = reports_on(fat_of(good, folder / "fat"), folder / "out").items()
    assert len(decode_report_file(raw).members) >= 3
    for name in ("full", "damaged", "other"):
        fat = fat_of(folder / f"{name}.img", folder / "fat")
        assert reports_on(fat, folder / "out") == {}


def offered(run: StickRun) -> str:
    """Offers it to the stick that is in, and what is said then."""
    run.console.answer("What now? ", "keep")
    return heard(run)


def heard(run: StickRun) -> str:
    """The one line, as the console wrapped it."""
    begin = len(run.console.seen)
    run.console.wait_for("memory.")
    begin = run.console.seen.rindex("Not kept", 0, len(run.console.seen)) if begin else 0
    found = NOT_KEPT.search(run.console.seen[begin:].replace("\r\n", " "))
    assert found, run.console.seen[-600:]
    return found[2]
