"""A dump as JSON: names, counts, fields and absences, and one error for what is no dump."""

import json
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from closeout.decode.failure import DecodeError
from closeout.decode.smbios_description import describe_smbios
from strategies import smbios

TABLE = smbios.build_table(
    [
        smbios.system(serial="S1", sku=None),
        smbios.chassis(elements=((0x84, 1, 2),)),
        smbios.oem_strings([b"one"], count=2),
        smbios.build_structure(200, 9, b""),
        smbios.build_structure(5, 10, b""),
        smbios.end_of_table(),
    ]
)


def test_dump_in_whole() -> None:
    described = describe_smbios(smbios.build_dump((3, 4), TABLE))
    assert described["version"] == "3.4.0"
    assert described["structure_count"] == 6
    assert described["counts"] == {"1": 1, "3": 1, "5": 1, "11": 1, "127": 1, "200": 1}
    assert described["faults"] == []
    assert described["entry_point"] == {
        "anchor": "_SM3_",
        "table_offset": 0x20,
        "table_length": len(TABLE),
        "structure_count": None,
    }
    structures = described["structures"]
    assert isinstance(structures, list)
    assert [structure["name"] for structure in structures] == [
        "System",
        "Chassis",
        "OEMStrings",
        "OEM-specific",
        "Type 5",
        "EndOfTable",
    ]
    system, chassis, oem_strings = (structure["fields"] for structure in structures[:3])
    assert structures[0] == {
        "handle": "0x0001",
        "type": 1,
        "name": "System",
        "length": 27,
        "fields": system,
    }
    assert system["Serial Number"] == "S1"
    assert system["SKU Number"] == {"absent": "no string is given (index 0)"}
    assert system["UUID"] == {"absent": "all 00: no UUID is set"}
    assert chassis["Contained Elements"][0]["Structure Type"] == 4
    assert oem_strings["Strings"] == [
        "one",
        {"absent": "string index 2 is out of range, there are 1 strings"},
    ]


def test_32_bit_entry_point() -> None:
    entry = smbios.build_entry_point_32((2, 8), len(TABLE), 0x20, 7)
    described = describe_smbios(entry.ljust(0x20, b"\0") + TABLE)
    assert described["version"] == "2.8"
    assert described["faults"] == [
        {"offset": 0, "message": "7 structures are announced, 6 were found"}
    ]


def test_table_outside_of_the_file() -> None:
    with pytest.raises(DecodeError, match="table at 4096") as caught:
        describe_smbios(smbios.build_entry_point((3, 4), 100, 4096))
    assert caught.value.offset == 24


@given(smbios.TABLES, st.data())
def test_every_cut_is_one_error_or_json_with_a_fault(table: bytes, data: st.DataObject) -> None:
    dump = smbios.build_dump((3, 4), table)
    cut = data.draw(st.integers(0, len(dump) - 1))
    if cut <= 0x20:
        with pytest.raises(DecodeError):
            describe_smbios(dump[:cut])
    else:
        described = json.loads(json.dumps(describe_smbios(dump[:cut])))
        assert described["faults"]


@given(st.binary(max_size=300))
def test_any_table_is_json(table: bytes) -> None:
    dump = smbios.build_dump((3, 4), table + b"\0")
    described = describe_smbios(dump)
    assert json.loads(json.dumps(described)) == described


def test_ten_machines_are_json(test_data: Path) -> None:
    dumps = sorted((test_data / "smbios").glob("*.dump"))
    assert len(dumps) == 10
    for dump in dumps:
        described = describe_smbios(dump.read_bytes())
        assert json.loads(json.dumps(described)) == described
