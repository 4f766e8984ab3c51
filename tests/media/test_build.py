"""`closeout media build` with played programs: what is asked of them, made of it, and said."""

import json
from pathlib import Path
from typing import Any

import pytest

from closeout.media import bios_loader, programs, wheels
from closeout.media.recipe import SYSTEM
from media import played_programs
from media.played_programs import RELEASE, WHEELS, PlayedPrograms
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


def test_a_kernel_that_lies_with_its_modules(
    played: PlayedPrograms, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """As Debian has it since 7.x: linux-binary-* brings it, and nothing is in `boot`."""
    files = dict(played_programs.FILES["linux-image-amd64"])
    kernel = files.pop(f"boot/vmlinuz-{RELEASE}")
    folder = f"usr/lib/modules/{RELEASE}"
    files |= {f"{folder}/vmlinuz": kernel, f"{folder}/System.map": b"", f"{folder}/config": b""}
    monkeypatch.setitem(played_programs.FILES, "linux-image-amd64", files)
    assert build(tmp_path).code == 0
    listed = root_of(tmp_path / "stick")
    assert (tmp_path / "stick/netboot/vmlinuz").read_bytes() == kernel
    assert not [name for name in ("vmlinuz", "System.map", "config ") if f"/{name}" in listed]
    assert played.called


@pytest.mark.usefixtures("played")
def test_packages_without_a_kernel(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    files = dict(played_programs.FILES["linux-image-amd64"])
    del files[f"boot/vmlinuz-{RELEASE}"]
    monkeypatch.setitem(played_programs.FILES, "linux-image-amd64", files)
    assert f"hold no vmlinuz for the kernel {RELEASE}" in build(tmp_path).err


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


# Documents


def test_what_makes_documents_is_on_the_stick(
    stick: Path, manifest: dict[str, Any], played: PlayedPrograms
) -> None:
    named = {one["name"]: one for one in manifest["packages"] if one["part"] == "paper"}
    assert named["typst"]["licences"] == ["Apache-2.0"]
    assert named["segno"]["licences"] == ["BSD-3-Clause"]
    image = (stick / "closeout-stick.img").read_bytes()
    for wheel, raw in WHEELS.items():
        assert manifest["paper"][f"paper/{wheel.file}"]["sha256"] == wheel.sha256
        assert raw in image
    (words, *_) = (words for words in played.called if Path(words[0]).name == "pip")
    for option in ("--require-hashes", "--only-binary=:all:", "--no-deps"):
        assert option in words


def test_without_documents(played: PlayedPrograms, tmp_path: Path) -> None:
    told = build(tmp_path, "--no-pdf")
    assert (told.code, "without documents" in told.out) == (0, True)
    assert not any(Path(words[0]).name == "pip" for words in played.called)
    manifest = json.loads((tmp_path / "stick/manifest.json").read_text())
    assert manifest["paper"] == {}
    told = build(tmp_path, "--offline")
    assert told.code == 2
    assert "kept without documents (--no-pdf); use another cache" in told.err
    assert build(tmp_path, "--offline", "--no-pdf").code == 0


def test_wheels_are_fetched_once_and_again_where_they_are_spoiled(
    played: PlayedPrograms, tmp_path: Path
) -> None:
    assert build(tmp_path).code == 0
    played.called.clear()
    assert build(tmp_path).code == 0
    assert not any(Path(words[0]).name == "pip" for words in played.called)
    spoiled = next((tmp_path / "cache/wheels").glob("segno*"))
    spoiled.write_bytes(b"another")
    assert "segno-1.0-py3-none-any.whl: is not the file" in build(tmp_path, "--offline").err
    assert build(tmp_path).code == 0
    assert sum(Path(words[0]).name == "pip" for words in played.called) == 1


def test_pip_is_named_where_it_is_missing(
    played: PlayedPrograms, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    with monkeypatch.context() as patch:
        patch.setattr(programs.shutil, "which", lambda name, path="": "" if path == "" else name)
        told = build(tmp_path)
    assert told.code == 2
    assert "install the package python3-pip, or build with --no-pdf" in told.err
    assert not played.called


def test_pip_of_this_python_comes_first(
    played: PlayedPrograms, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(wheels, "find_spec", lambda name: name)
    monkeypatch.setattr(wheels.sys, "executable", "/usr/bin/pip")
    assert build(tmp_path).code == 0
    (words, *_) = (words for words in played.called if words[0] == "/usr/bin/pip")
    assert words[1:4] == ("-m", "pip", "download")


def test_pip_that_fails_is_told_with_its_words(played: PlayedPrograms, tmp_path: Path) -> None:
    played.fails, played.says = "--require-hashes", b"no such index\n"
    told = build(tmp_path)
    assert told.code == 2
    assert "pip download --quiet" in told.err
    assert "ended with 9" in told.err
    assert "no such index" in told.err


def test_pip_that_cannot_be_run(
    played: PlayedPrograms, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def run(command: tuple[object, ...], **more: object) -> object:
        if "--require-hashes" in command:
            raise PermissionError(13, "Permission denied")
        return played(command, **more)

    monkeypatch.setattr(programs.subprocess, "run", run)
    assert "pip: cannot be run: Permission denied" in build(tmp_path).err


def test_a_wheel_that_is_another_is_not_taken(played: PlayedPrograms, tmp_path: Path) -> None:
    played.wheels_end_with = b"!"
    told = build(tmp_path)
    assert told.code == 2
    assert "is not the file that was asked for (SHA-256 differs)" in told.err


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
