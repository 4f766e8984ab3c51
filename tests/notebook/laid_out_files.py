"""Everything that must lie in a run's folder before the emulator starts."""

import shutil
from pathlib import Path

from notebook.acpi_source import acpi_source, compile_acpi
from notebook.agent_bundle import agent_bundle
from notebook.archive import MIB, join
from notebook.control_page import control_page_of, write_control_page
from notebook.description import Notebook
from notebook.emulator import FIRMWARE, INITIAL_AT, Places
from notebook.firmware_tables import licence_table, smbios_structures
from notebook.guest_files import pack_guest_files
from notebook.image import Image


def lay_out(notebook: Notebook, image: Image, places: Places) -> int:
    """Writes the files of a notebook; returns how many SMBIOS structures there are."""
    structures = smbios_structures(notebook)
    for index, structure in enumerate(structures):
        places.structure(index).write_bytes(structure)
    compile_acpi(acpi_source(notebook), places.folder).replace(places.ssdt)
    if notebook.licence:
        places.licence.write_bytes(licence_table(notebook.licence))
    if notebook.firmware != "bios":
        _, variables = FIRMWARE[notebook.firmware]
        shutil.copyfile(variables, places.variables)
    _lay_out_drives(notebook, places)
    _empty(places.ram, notebook.memory_mib)
    write_control_page(places.ram, control_page_of(notebook))
    own = pack_guest_files(notebook, places.folder)
    join((image.guest, own, agent_bundle(image)), places.initial)
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


def _copy_into(file: Path, offset: int, content: Path) -> None:
    with file.open("r+b") as opened, content.open("rb") as taken:
        opened.seek(offset)
        shutil.copyfileobj(taken, opened, MIB)
