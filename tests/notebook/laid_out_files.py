"""Everything that must lie in a run's folder before the emulator starts."""

import shutil
from pathlib import Path
from typing import Final

from notebook.acpi_source import acpi_source, compile_acpi
from notebook.control_page import control_page_of, write_control_page
from notebook.description import Notebook
from notebook.emulator import FIRMWARE, INITIAL_AT, Places
from notebook.firmware_tables import licence_table, smbios_structures
from notebook.guest_files import pack_guest_files
from notebook.image import Image

MIB: Final = 1 << 20


def lay_out(notebook: Notebook, image: Image, places: Places) -> int:
    """Writes the files of a notebook; returns how many SMBIOS structures there are."""
    structures = smbios_structures(notebook)
    for index, structure in enumerate(structures):
        places.structure(index).write_bytes(structure)
    shutil.copyfile(compile_acpi(acpi_source(notebook), places.folder), places.ssdt)
    if notebook.licence:
        places.licence.write_bytes(licence_table(notebook.licence))
    if notebook.firmware != "bios":
        keys = ".ms" if notebook.firmware == "secure-boot" else ""
        shutil.copyfile(FIRMWARE / f"OVMF_VARS_4M{keys}.fd", places.variables)
    _lay_out_drives(notebook, places)
    _empty(places.ram, notebook.memory_mib)
    write_control_page(places.ram, control_page_of(notebook))
    _join(image.guest, pack_guest_files(notebook, places.folder), places.initial)
    if notebook.firmware != "secure-boot":
        _copy_into(places.ram, INITIAL_AT, places.initial)
    return len(structures)


def _lay_out_drives(notebook: Notebook, places: Places) -> None:
    for name, drive in notebook.drive.items():
        _empty(places.drive(name), drive.mib)
    if notebook.card_reader and notebook.card_reader.mib:
        _empty(places.drive("card"), notebook.card_reader.mib)


def _empty(file: Path, mib: int) -> None:
    with file.open("wb") as opened:
        opened.truncate(mib * MIB)


def _join(first: Path, second: Path, joined: Path) -> None:
    """One archive behind the other, as the kernel reads them (the first is padded by cpio)."""
    shutil.copyfile(first, joined)
    with joined.open("ab") as whole, second.open("rb") as more:
        shutil.copyfileobj(more, whole)


def _copy_into(file: Path, offset: int, content: Path) -> None:
    with file.open("r+b") as opened, content.open("rb") as taken:
        opened.seek(offset)
        shutil.copyfileobj(taken, opened, MIB)
