"""`closeout media build` with played programs: what is asked of them, made of it, and said."""

import json
from pathlib import Path
from typing import Any

import pytest

from closeout.media import bios_loader, programs
from closeout.media.recipe import SYSTEM
from media.played_programs import RELEASE, PlayedPrograms
from strategies.surroundings import Told, call_in


def build(place: Path, *more: str, out: str = "stick") -> Told:
    return call_in(place, "media", "build", "--cache", place / "cache", "-o", out, *more)


def root_of(stick: Path) -> str:
    """What the played packer wrote: a line for each path of the root."""
    return (stick / "netboot" / "initrd").read_bytes().decode("utf-8", "replace")


def test_a_build_says_what_it_made(played: PlayedPrograms, tmp_path: Path) -> None:
    told = build(tmp_path)
    assert told.code == 0
    assert f"kernel {RELEASE}" in told.out
    assert "firmware that is not free software" in told.out
    digest = json.loads((tmp_path / "stick/manifest.json").read_text())["image"]["sha256"]
    assert f"SHA-256 {digest}" in told.out
    assert "unpacking" in told.err
    assert sorted(path.name for path in (tmp_path / "stick").iterdir()) == [
        "closeout-stick.img",
        "manifest.json",
        "netboot",
    ]
    assert ("apt-get", "--quiet=2", "--yes", "update") in played.called


@pytest.mark.usefixtures("played")
def test_the_same_packages_give_the_same_image(tmp_path: Path) -> None:
    assert build(tmp_path).code == 0
    assert build(tmp_path, "--offline", out="elsewhere/again").code == 0
    first = (tmp_path / "stick/closeout-stick.img").read_bytes()
    assert first == (tmp_path / "elsewhere/again/closeout-stick.img").read_bytes()
    assert (tmp_path / "stick/manifest.json").read_text() == (
        tmp_path / "elsewhere/again/manifest.json"
    ).read_text()


def test_an_offline_build_asks_nobody(played: PlayedPrograms, tmp_path: Path) -> None:
    assert build(tmp_path).code == 0
    played.called.clear()
    assert build(tmp_path, "--offline").code == 0
    assert not [words for words in played.called if words[0].startswith(("apt", "env"))]


def test_what_is_kept_is_not_fetched_again(played: PlayedPrograms, tmp_path: Path) -> None:
    assert build(tmp_path).code == 0
    spoiled = next((tmp_path / "cache/debs").glob("udev_*"))
    spoiled.write_bytes(b"{}")
    played.called.clear()
    assert build(tmp_path).code == 0
    fetched = [words for words in played.called if words[0] == "env"]
    assert [words[-1] for words in fetched] == ["udev=1:2-3"]


def test_without_firmware(played: PlayedPrograms, tmp_path: Path) -> None:
    told = build(tmp_path, "--no-firmware")
    assert "without firmware" in told.out
    assert not any("firmware-iwlwifi" in words for words in played.called)


def test_a_kernel_of_another_suite(played: PlayedPrograms, tmp_path: Path) -> None:
    assert build(tmp_path, "--kernel", "trixie-backports").code == 0
    assert any("linux-image-amd64/trixie-backports" in words for words in played.called)
    sources = (tmp_path / "cache/apt/sources.list").read_text()
    assert " trixie-backports main non-free-firmware" in sources


def test_what_is_in_the_root(stick: Path) -> None:
    listed = root_of(stick)
    for wanted in (
        "usr/lib/closeout/agent/closeout/cli/main.py",
        "usr/lib/closeout/profiles/set.toml",
        "usr/lib/closeout/reports/",
        "usr/lib/closeout/contents.json",
        "usr/sbin/init",
        "usr/bin/closeout",
        "usr/bin/ls",
        "usr/share/consolefonts/Uni2-Terminus16.psf.gz",
        "usr/share/doc/shim-signed/copyright",
        "usr/share/doc/udev/copyright",
        "kernel/fs/fat/vfat.ko ",
        "etc/passwd",
    ):
        assert wanted in listed, wanted
    for unwanted in (
        "ext4",  # nor what needs it
        "Greek",
        "changelog",
        "man5",
        "hwdb.d",
        "vmlinuz-",
        ".ko.xz",
        "__pycache__",
        "usr/share/doc/systemd",
        "swapon",
    ):
        assert unwanted not in listed, unwanted


def test_the_manifest_names_every_package(manifest: dict[str, Any]) -> None:
    packages = {one["name"]: one for one in manifest["packages"]}
    assert set(SYSTEM) <= set(packages)
    assert "systemd" not in packages
    assert packages["udev"]["licences"] == ["Fair-1"]
    assert packages["libc6"]["licences"] == ["see copyright"]
    assert packages["shim-signed"]["licences"] == ["see copyright"]
    assert packages["shim-signed"]["part"] == "boot"
    assert packages["mtools"]["part"] == "tools"
    assert manifest["kernel"] == RELEASE
    assert set(manifest["boot"]) == {
        "EFI/BOOT/BOOTX64.EFI",
        "EFI/BOOT/grubx64.efi",
        "EFI/BOOT/mmx64.efi",
        "EFI/debian/grub.cfg",
        "boot/grub/grub.cfg",
        "initrd",
        "root.cpio",
        "vmlinuz",
    }


def test_the_kernel_is_told_to_assemble_and_resume_nothing(stick: Path) -> None:
    menu = (stick / "netboot/grub/grub.cfg").read_text()
    for option in ("raid=noautodetect", "noresume", "console=tty0", "console=ttyS0,115200"):
        assert option in menu
    assert "timeout_style=hidden" in menu


# What cannot be built


def test_missing_tools_are_named(
    played: PlayedPrograms, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(programs.shutil, "which", lambda *_, **__: None)
    monkeypatch.setattr(programs, "KEYRING", str(tmp_path / "no-keys"))
    monkeypatch.setattr(programs.os, "geteuid", lambda: 1000)
    told = build(tmp_path)
    assert told.code == 2
    assert "dpkg-deb is missing: install the package dpkg" in told.err
    assert "apt-get is missing: install the package apt" in told.err
    assert "install the package debian-archive-keyring" in told.err
    assert "needs root" in told.err
    assert not played.called
    assert "package apt" not in build(tmp_path, "--offline").err


def test_a_tool_that_fails_is_named_with_its_words(played: PlayedPrograms, tmp_path: Path) -> None:
    played.fails, played.says = "update", b"one\ntwo\nno such host\n"
    told = build(tmp_path)
    assert told.code == 2
    assert "apt-get --quiet=2 --yes update" in told.err
    assert "no such host" in told.err


def test_a_tool_that_cannot_be_run(
    played: PlayedPrograms, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def refuse(*_: object, **__: object) -> None:
        raise PermissionError(13, "Permission denied")

    assert played.called == []
    monkeypatch.setattr(programs.subprocess, "run", refuse)
    assert "apt-get: cannot be run: Permission denied" in build(tmp_path).err


@pytest.mark.usefixtures("played")
def test_nothing_kept_to_build_from(tmp_path: Path) -> None:
    told = build(tmp_path, "--offline")
    assert told.code == 2
    assert "lock.json: cannot be read: No such file or directory; build once without" in told.err


@pytest.mark.usefixtures("played")
@pytest.mark.parametrize(
    ("lock", "said"),
    [
        ("[]", "no lock of packages"),
        ("{", "no lock of packages"),
        ('{"closeout_media_lock": 9}', "of another version"),
        ('{"closeout_media_lock": 1, "parts": {"boot": [{}]}}', "no lock of packages"),
    ],
)
def test_a_lock_that_is_none(tmp_path: Path, lock: str, said: str) -> None:
    assert build(tmp_path).code == 0
    (tmp_path / "cache/lock.json").write_text(lock)
    told = build(tmp_path, "--offline")
    assert told.code == 2
    assert said in told.err


@pytest.mark.usefixtures("played")
def test_kept_packages_that_are_others_than_locked(tmp_path: Path) -> None:
    assert build(tmp_path).code == 0
    kept = tmp_path / "cache/debs"
    next(kept.glob("udev_*")).write_bytes(b"another")
    next(kept.glob("kmod_*")).unlink()
    told = build(tmp_path, "--offline")
    assert told.code == 2
    assert "udev_1%3a2-3_amd64.deb: is not the file that lock.json names" in told.err
    assert "kmod_1%3a2-3_amd64.deb: is missing" in told.err


@pytest.mark.usefixtures("played")
def test_packages_kept_for_another_build(tmp_path: Path) -> None:
    assert build(tmp_path).code == 0
    told = build(tmp_path, "--offline", "--no-firmware")
    assert told.code == 2
    assert "with firmware; use another cache" in told.err


@pytest.mark.usefixtures("played")
def test_packages_kept_by_another_closeout(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    assert build(tmp_path).code == 0
    monkeypatch.setattr("closeout.media.packages.TOOLS", ("more-tools",))
    told = build(tmp_path, "--offline")
    assert told.code == 2
    assert "kept for another closeout; build once without --offline" in told.err


@pytest.mark.usefixtures("played")
def test_two_kernels(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("closeout.media.kernel.FOLDER", "usr/lib/none")
    assert "the packages hold 0 kernels" in build(tmp_path).err


@pytest.mark.usefixtures("played")
def test_a_loader_larger_than_its_partition(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(bios_loader, "SECTOR", 256)
    monkeypatch.setattr("closeout.media.stick_image.LOADER_SECTORS", 2)
    assert "more than its partition" in build(tmp_path).err


@pytest.mark.usefixtures("played")
def test_a_folder_that_cannot_be_made(tmp_path: Path) -> None:
    (tmp_path / "taken").write_text("a file")
    told = build(tmp_path, out="taken")
    assert told.code == 2
    assert f"{tmp_path / 'taken'}: File exists" in told.err
