"""The emulator's command: every part of a description is in it, and nothing moves."""

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import pytest

from notebook.description import Audio, Notebook, load_notebook, notebook_names
from notebook.emulator import Places, drive_device, emulator_command, kernel_options
from notebook.image import Image

FEN = load_notebook("fen-14")
OSIER = load_notebook("osier-15")
DISK = "ide-hd,id=system,drive=disk-system,bus=ide.0,serial=PS51219002"


@pytest.fixture
def places(tmp_path: Path) -> Places:
    made = Places(folder=tmp_path)
    made.initial.write_bytes(bytes(0x1234))
    return made


def command(notebook: Notebook, places: Places, pulled: frozenset[str] = frozenset()) -> list[str]:
    image = Image(folder=Path("/image"), release="6.12")
    return list(emulator_command(notebook, image, places, 3, pulled))


@pytest.mark.parametrize("name", notebook_names())
def test_every_notebook_has_a_command(name: str, places: Places) -> None:
    told = command(load_notebook(name), places)
    assert told[0] == "qemu-system-x86_64"
    assert "tcg,thread=single" in told
    assert sum(argument.startswith("file=") and "smbios" in argument for argument in told) == 3


PARTS: dict[str, tuple[Notebook, Callable[[Notebook], Notebook]]] = {
    "nvme,": (FEN, lambda whole: replace(whole, drive={})),
    "tpm-crb": (FEN, lambda whole: replace(whole, tpm=None)),
    "ich9-intel-hda": (FEN, lambda whole: replace(whole, audio=None)),
    "msdm.bin": (FEN, lambda whole: replace(whole, licence=None)),
    "usb-camera-line": (FEN, lambda whole: replace(whole, usb={})),
    "ide-hd": (OSIER, lambda whole: replace(whole, drive={})),
    "e1000e": (OSIER, lambda whole: replace(whole, wired=None)),
    "sdhci-pci": (OSIER, lambda whole: replace(whole, card_reader=None)),
}


@pytest.mark.parametrize("part", PARTS)
def test_a_part_left_out_moves_nothing(part: str, places: Places) -> None:
    whole, leave_out = PARTS[part]
    before, after = command(whole, places), command(leave_out(whole), places)
    assert any(part in argument for argument in before)
    assert not any(part in argument for argument in after)
    assert set(after) <= set(before)


@pytest.mark.parametrize(
    ("audio", "codec"),
    [
        (Audio(), "hda-duplex"),
        (Audio(built_in=True), "hda-micro"),
        (Audio(codec=False), None),
    ],
)
def test_a_codec_is_wired_as_described(audio: Audio, codec: str | None, places: Places) -> None:
    told = command(replace(FEN, audio=audio), places)
    found = [one.split(",")[0] for one in told if one.startswith("hda-")]
    assert found == ([codec] if codec else [])


def test_a_pulled_drive_leaves_its_slot(places: Places) -> None:
    told = command(FEN, places, pulled=frozenset({"system"}))
    assert not any(argument.startswith("nvme,") for argument in told)
    assert any(argument.startswith("pcie-root-port,id=system-slot") for argument in told)
    assert drive_device("system", FEN.drive["system"])["bus"] == "system-slot"


def test_every_device_has_a_place_of_its_own(places: Places) -> None:
    for notebook in (FEN, OSIER):
        fixed = [
            part.removeprefix("addr=")
            for argument in command(notebook, places)
            for part in argument.split(",")
            if part.startswith("addr=")
        ]
        assert len(fixed) == len(set(fixed))


def test_the_kernel_is_told_where_the_archive_and_the_panel_are(places: Places) -> None:
    options = next(argument for argument in command(FEN, places) if "initrdmem" in argument)
    assert options.endswith("initrdmem=0x20000000,0x1234")
    assert "drm.edid_firmware=Virtual-1:edid/panel.bin" in options
    assert "video=Virtual-1:d" in kernel_options(replace(FEN, panel=None))


def test_drives_tell_what_is_described(places: Places) -> None:
    told = [argument for argument in command(OSIER, places) if argument.startswith("ide-hd")]
    assert told == [f"{DISK},model=Peatstone P20 512,ver=PF2.04,rotation_rate=1"]


def test_a_drive_behind_a_controller_in_raid_mode_keeps_its_slot(places: Places) -> None:
    told = command(load_notebook("osier-15-storage-mode"), places)
    assert any(argument.startswith("pcie-root-port,id=system-slot") for argument in told)
    assert "megasas-gen2,id=system,bus=system-slot" in told
    assert "scsi-hd,drive=disk-system,bus=system.0,serial=PS51219002" in told
    assert not any(argument.startswith("nvme,") for argument in told)
