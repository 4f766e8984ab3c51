"""What firmware leaves in memory, read back by our decoders and by dmidecode."""

import subprocess
from dataclasses import replace
from pathlib import Path
from uuid import UUID

import pytest

from closeout.decode.edid import decode_edid
from closeout.decode.msdm import decode_msdm
from notebook.description import Notebook, load_notebook
from notebook.firmware_tables import licence_table, panel_edid, smbios_structures
from strategies.smbios import build_dump, build_table, end_of_table

FEN = load_notebook("fen-14")


def dmidecode(notebook: Notebook, folder: Path) -> str:
    table = build_table([*smbios_structures(notebook), end_of_table()])
    dump = folder / "dump.bin"
    dump.write_bytes(build_dump((2, 8), table))
    told = subprocess.run(
        ["dmidecode", "--from-dump", dump], capture_output=True, check=True, text=True
    )
    assert "Wrong" not in told.stdout + told.stderr
    return told.stdout


@pytest.mark.oracle
@pytest.mark.parametrize("name", ["fen-14", "skerry-13", "osier-15"])
def test_dmidecode_reads_what_is_described(name: str, tmp_path: Path) -> None:
    notebook = load_notebook(name)
    told = dmidecode(notebook, tmp_path)
    system, chassis = notebook.system, notebook.chassis
    assert f"Serial Number: {system.serial}" in told
    assert f"UUID: {UUID(str(system.uuid))}" in told
    assert f"SKU Number: {system.sku}" in told
    assert f"Asset Tag: {chassis.asset_tag}" in told
    assert f"Type: {'Convertible' if chassis.type == 31 else 'Notebook'}" in told
    assert "Family: Other" not in told
    assert f"Version: {notebook.processor.version}" in told
    assert f"Max Speed: {notebook.processor.max_mhz} MHz" in told
    for memory in notebook.memory.values():
        assert f"Locator: {memory.locator}" in told
    assert notebook.battery
    for battery in notebook.battery.values():
        assert f"Design Capacity: {battery.design_mwh} mWh" in told
        assert f"Design Voltage: {battery.design_millivolts} mV" in told


@pytest.mark.oracle
def test_dmidecode_reads_what_is_left_out(tmp_path: Path) -> None:
    bare = replace(FEN, system=replace(FEN.system, serial=None, uuid=None), battery={})
    told = dmidecode(bare, tmp_path)
    assert "UUID: Not Present" in told
    assert "Serial Number: Not Specified" in told
    assert "Portable Battery" not in told
    assert "Size: No Module Installed" in told


def test_the_licence_table_is_sound() -> None:
    assert FEN.licence is not None
    assert decode_msdm(licence_table(FEN.licence)).header.checksum_good


def test_the_panel_is_sound_or_damaged() -> None:
    assert FEN.panel is not None
    for damaged in (False, True):
        edid = decode_edid(panel_edid(replace(FEN.panel, damaged=damaged)))
        assert [block.checksum_good for block in edid.blocks] == [not damaged]
