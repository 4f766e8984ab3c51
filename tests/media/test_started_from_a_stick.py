"""The stick of today's packages, seen by independent tools and started in the emulator."""

import json
import shutil
import subprocess
import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from functools import partial
from http.server import SimpleHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path
from threading import Thread
from typing import Final

import pytest

from closeout.media.fat_reader import open_volume
from media.emulated_stick import SHELL, started, with_last_entry, with_shell
from media.real_stick import Stick, build, built_stick
from strategies.fat_volume import read_files
from strategies.surroundings import call_in

pytestmark = [
    pytest.mark.notebook,
    pytest.mark.live,
    pytest.mark.slow,
    pytest.mark.xdist_group("stick"),
]
PROGRAMS: Final = (
    *("qemu-system-x86_64", "mtype", "mcopy", "sfdisk", "fsck.vfat", "sbverify"),
    *("unsquashfs", "cpio", "dpkg-deb"),
)
LOADING: Final = "is being loaded"
READY: Final = "export PATH=/usr/sbin:/usr/bin; mount -t proc p /proc; mount -t sysfs s /sys"
VARIABLE: Final = "SecureBoot-8be4df61-93ca-11d2-aa0d-00e098032b8c"
"""UEFI 2.10, section 3.3: the variable, and EFI_GLOBAL_VARIABLE."""


@pytest.fixture(scope="session")
def stick() -> Stick:
    """The stick; skips, and says why, where it cannot be built or looked at."""
    path = "/usr/sbin:/usr/bin:/sbin:/bin"
    if missing := [name for name in PROGRAMS if shutil.which(name, path=path) is None]:
        pytest.skip(f"starting from a stick needs {', '.join(missing)}")
    return built_stick()


@pytest.fixture(scope="session")
def shell_image(stick: Stick, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The stick with a shell in the place of the check."""
    return with_shell(stick.image, tmp_path_factory.mktemp("shell"), stick.boot_offset)


def run(*command: object) -> str:
    done = subprocess.run(tuple(map(str, command)), capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr + done.stdout
    return done.stdout


# What independent tools see


def test_the_partition_table(stick: Stick) -> None:
    assert "No errors detected" in run("sfdisk", "--verify", stick.image)
    table = json.loads(run("sfdisk", "--json", stick.image))["partitiontable"]
    found = [(one["start"], one["size"], one["type"].lower()) for one in table["partitions"]]
    told = stick.manifest["partitions"]
    assert found == [(one["first"], one["sectors"], one["type"]) for one in told]


def test_the_volumes_are_sound(stick: Stick, tmp_path: Path) -> None:
    for number, label in ((0, "CLOSEOUT"), (1, "CLOSEOUTEFI")):
        partition = stick.manifest["partitions"][number]
        volume = tmp_path / label
        with stick.image.open("rb") as image:
            image.seek(partition["first"] * 512)
            volume.write_bytes(image.read(partition["sectors"] * 512))
        assert "32 bit entries" in run("fsck.vfat", "-n", "-v", volume)
        assert label in run("mlabel", "-s", "-i", volume, "::")
    assert "orders" in run("mdir", "-b", "-i", tmp_path / "CLOSEOUT", "::")


def test_loaders_and_kernel_are_signed(stick: Stick, tmp_path: Path) -> None:
    for path, signer in (
        ("EFI/BOOT/BOOTX64.EFI", "Microsoft"),
        ("EFI/BOOT/grubx64.efi", "Debian"),
        ("EFI/BOOT/mmx64.efi", "Debian"),
        ("vmlinuz", "Debian"),
    ):
        file = tmp_path / Path(path).name
        run("mcopy", "-i", f"{stick.image}@@{stick.boot_offset}", f"::/{path}", file)
        assert signer in run("sbverify", "--list", file)


def test_the_root_has_what_a_check_needs_and_nothing_that_mounts(
    stick: Stick, tmp_path: Path
) -> None:
    archive = tmp_path / "root.cpio"
    run("mcopy", "-i", f"{stick.image}@@{stick.boot_offset}", "::/root.cpio", archive)
    with archive.open("rb") as packed:
        subprocess.run(("cpio", "-id", "--quiet"), stdin=packed, cwd=tmp_path, check=True)
    listed = run("unsquashfs", "-l", "-d", "", tmp_path / "root.squashfs").splitlines()
    for wanted in (
        "/usr/bin/closeout",
        "/usr/sbin/init",
        "/usr/bin/python3",
        "/usr/bin/udevadm",
        "/usr/bin/loadkeys",
        "/usr/lib/udev/hwdb.bin",
        "/usr/lib/closeout/profiles/set.toml",
    ):
        assert wanted in listed
    assert "/usr/lib/systemd/systemd" not in listed
    names = {line.rpartition("/")[2] for line in listed}
    assert not names & {
        "mdadm",
        "lvm",
        "dmsetup",
        "cryptsetup",
        "udisksd",
        "mkswap",
        "swapon",
        "wget",
    }
    assert not names & {"dm-mod.ko", "md-mod.ko", "ext4.ko", "ntfs3.ko", "xfs.ko", "btrfs.ko"}


@pytest.fixture(scope="module")
def root(stick: Stick, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """What a unit runs, unpacked here, with what makes documents where a session puts it."""
    place = tmp_path_factory.mktemp("root")
    run("mcopy", "-i", f"{stick.image}@@{stick.boot_offset}", "::/root.cpio", place)
    with (place / "root.cpio").open("rb") as packed:
        subprocess.run(("cpio", "-id", "--quiet"), stdin=packed, cwd=place, check=True)
    run("unsquashfs", "-q", "-n", "-d", place / "root", place / "root.squashfs")
    shared = f"{stick.image}@@{stick.manifest['partitions'][0]['first'] * 512}"
    run("mcopy", "-i", shared, "::/paper/*", place)
    paper = place / "root/run/closeout/paper"
    paper.mkdir(parents=True)
    for wheel in place.glob("*.whl"):
        run("unzip", "-q", wheel, "-d", paper)
    return place / "root"


def run_in(root: Path, *words: str) -> str:
    """What closeout says in the stick's root, with its Python and its libraries."""
    imports = "PYTHONPATH=/run/closeout/paper:/usr/lib/closeout/agent"
    return run("chroot", root, "env", imports, "/usr/bin/python3", "-m", "closeout", *words)


def test_the_root_brings_what_seals_and_what_sets_a_document(root: Path, tmp_path: Path) -> None:
    run_in(root, "station", "init", "/tmp/B-07", "--code", "B-07")  # noqa: S108 - of the root
    demo = "/usr/lib/closeout/profiles/demo/fen-14-ribbon-left-out"
    unit = ("--evidence", f"{demo}/unit.jsonl.gz", "--work-order", f"{demo}/work-order.toml")
    sealed = ("--station-key", "/tmp/B-07", "--out", "/tmp/reports")  # noqa: S108 - as above
    subprocess.run(("chroot", root, "closeout", "check", *unit, *sealed), check=False)
    (attempt,) = (root / "tmp/reports").glob("*/*")
    inside = f"/{attempt.relative_to(root)}"
    run_in(root, "report", "pdf", inside)
    known = tmp_path / "known"
    known.mkdir()
    shutil.copy(root / "tmp/B-07/station.toml", known)
    document = attempt / "report.pdf"
    told = call_in(tmp_path, "report", "verify", document, "--stations", known)
    assert "Intact: not a byte has changed since station B-07 sealed it." in told.out
    assert "Pages: byte for byte what" in told.out


@pytest.mark.thorough
def test_built_again_elsewhere_it_is_the_same(stick: Stick, tmp_path: Path) -> None:
    build(tmp_path / "deeper" / "again", "--offline")
    again = Stick(folder=tmp_path / "deeper" / "again")
    assert again.manifest == stick.manifest
    run("cmp", stick.image, again.image)
    for file in stick.network.rglob("*"):
        if file.is_file():
            run("cmp", file, again.network / file.relative_to(stick.network))


def test_a_volume_of_mtools_is_read(tmp_path: Path) -> None:
    """Made and filled by others: mkfs.vfat and mcopy."""
    image = tmp_path / "volume"
    image.write_bytes(bytes(40 << 20))
    run("mkfs.vfat", "-F", "32", "-s", "1", "-n", "OTHERS", "-i", "0c448e9b", image)
    files = {"README.TXT": b"short", "lower.txt": b"l" * 70_000, "A long name.json": b"{}"}
    for name, content in files.items():
        (tmp_path / name).write_bytes(content)
        run("mcopy", "-i", image, tmp_path / name, f"::{name}")
    raw = image.read_bytes()
    volume = open_volume(lambda at, length: raw[at : at + length], "volume")
    assert (volume.number, volume.label) == ("0C44-8E9B", "OTHERS")
    assert read_files(volume) == files


# Started


def test_secure_boot_stays_on(shell_image: Path, tmp_path: Path) -> None:
    with started(shell_image, tmp_path) as unit:
        unit.wait_for("\n# ", seconds=900)
        unit.ask(READY)
        assert "Secure boot enabled" in unit.ask("dmesg | grep secureboot:")
        unit.ask("modprobe efivarfs; mount -t efivarfs e /sys/firmware/efi/efivars")
        variable = f"/sys/firmware/efi/efivars/{VARIABLE}"
        assert unit.ask(f"od -An -tu1 {variable}").split()[-1] == "1"
        assert "closeout " in unit.ask("closeout --version")
        assert int(unit.ask("sed -n 's/MemAvailable: *//p' /proc/meminfo").split()[0]) > 1_500_000
        mounted = unit.ask("cat /proc/mounts")
        assert "/dev/sd" not in mounted
        assert unit.ask("cat /proc/swaps").count("\n") == 0


def test_a_kernel_that_was_tampered_with_is_refused(stick: Stick, tmp_path: Path) -> None:
    image = with_shell(stick.image, tmp_path, stick.boot_offset)
    kernel = tmp_path / "vmlinuz"
    volume = f"{image}@@{stick.boot_offset}"
    run("mcopy", "-i", volume, "::/vmlinuz", kernel)
    content = bytearray(kernel.read_bytes())
    content[len(content) // 2] ^= 1
    kernel.write_bytes(content)
    run("mcopy", "-o", "-i", volume, kernel, "::/vmlinuz")
    with started(image, tmp_path) as unit:
        assert unit.wait_for("bad shim signature", "Linux version", seconds=600) == (
            "bad shim signature"
        )


def test_a_start_without_uefi(shell_image: Path, tmp_path: Path) -> None:
    with started(shell_image, tmp_path, firmware="bios") as unit:
        unit.wait_for("\n# ", seconds=900)
        unit.ask(READY)
        assert SHELL in unit.ask("cat /proc/cmdline")
        assert "closeout " in unit.ask("closeout --version")


def test_a_stick_that_is_pulled_is_not_missed(shell_image: Path, tmp_path: Path) -> None:
    with started(shell_image, tmp_path, firmware="bios") as unit:
        unit.wait_for("\n# ", seconds=900)
        unit.ask(READY)
        unit.ask("echo 1 > /sys/block/sda/device/delete; echo 3 > /proc/sys/vm/drop_caches")
        assert "sda" not in unit.ask("ls /sys/block")
        assert "closeout " in unit.ask("closeout --version")
        read = "cat /usr/bin/python3 /usr/lib/closeout/profiles/*.toml > /dev/null && echo whole"
        assert unit.ask(read).endswith("whole")


@pytest.mark.thorough
def test_started_over_the_network(stick: Stick, tmp_path: Path) -> None:
    with started(None, tmp_path, more=_served(stick.network)) as unit:
        unit.wait_for(LOADING, seconds=600)


@pytest.mark.thorough
def test_started_over_http(stick: Stick, tmp_path: Path) -> None:
    """By the address that the emulator gives the machine it runs on."""
    with _http_server(stick.network) as port:
        address = f"http://10.0.2.2:{port}/shimx64.efi"
        card = ("-netdev", "user,id=net", "-device", "virtio-net-pci,netdev=net,romfile=")
        with started(None, tmp_path, more=card, tell_firmware=_starts_from(address)) as unit:
            unit.wait_for(LOADING, seconds=600)


def _starts_from(address: str) -> Callable[[Path], object]:
    """UEFI 2.10, sections 3.1.2 and 10.3.4.13: the next start is from an address."""
    program = Path(sys.executable).with_name("virt-fw-vars")
    return lambda variables: run(program, "--inplace", variables, "--set-boot-uri", address)


@contextmanager
def _http_server(folder: Path) -> Iterator[int]:
    handler = partial(SimpleHTTPRequestHandler, directory=str(folder))
    with ThreadingHTTPServer(("127.0.0.1", 0), handler) as server:
        thread = Thread(target=server.serve_forever)
        thread.start()
        try:
            yield server.server_port
        finally:
            server.shutdown()
            thread.join()


@pytest.mark.thorough
def test_started_from_a_card_in_the_reader(stick: Stick, shell_image: Path, tmp_path: Path) -> None:
    """An SD card in a host controller of its own, by the entry for what is not on USB.

    Without UEFI, since the emulator's has no driver for such a controller.
    """
    card = with_last_entry(shell_image, tmp_path / "card.img", stick.boot_offset)
    with card.open("r+b") as image:  # the emulator takes no other sizes for a card
        image.truncate(1 << (card.stat().st_size - 1).bit_length())
    drive = f"if=none,id=card,format=raw,snapshot=on,file={card}"
    reader = ("-device", "sdhci-pci", "-drive", drive, "-device", "sd-card,drive=card")
    with started(None, tmp_path, firmware="bios", more=reader) as unit:
        unit.wait_for("\n# ")
        unit.ask(READY)
        assert "closeout " in unit.ask("closeout --version")


def _served(folder: Path) -> tuple[str, ...]:
    net = f"user,id=net,restrict=on,tftp={folder},bootfile=shimx64.efi"
    return ("-netdev", net, "-device", "virtio-net-pci,netdev=net,romfile=,bootindex=0")
