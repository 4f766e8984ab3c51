"""`closeout decode`: one JSON object a line for each file, errors included."""

import json
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from strategies import smbios
from strategies.drive_blocks import identify_device, nvme_health_log, smart_block
from strategies.edid import EdidPlan, build_edid
from strategies.fen import HEALTHY
from strategies.msdm import MsdmPlan, build_msdm
from strategies.notebook import table_of
from strategies.surroundings import Told, call_in

EDID = build_edid(EdidPlan())
MSDM = build_msdm(MsdmPlan())
TABLE = table_of(HEALTHY)
SOUND = {
    "edid": EDID,
    "msdm": MSDM,
    "nvme-smart": nvme_health_log(used=3),
    "ata-identify": identify_device(),
    "ata-smart": smart_block((5, 0x33, 100, 100, 0)),
    "smbios": smbios.build_entry_point((3, 3), len(TABLE), 32).ljust(32, b"\0") + TABLE,
}


def lines_of(told: Told) -> list[dict[str, Any]]:
    assert told.err == ""
    assert told.raw.isascii()
    return [json.loads(line) for line in told.raw.split(b"\n")[:-1]]


@pytest.mark.parametrize("kind", SOUND)
def test_one_object_a_line_for_each_file(tmp_path: Path, kind: str) -> None:
    files = [tmp_path / name for name in ("one", "two", "one")]
    for file in files:
        file.write_bytes(SOUND[kind])
    told = call_in(tmp_path, "decode", kind, *files)
    assert told.code == 0
    lines = lines_of(told)
    assert [line.pop("file") for line in lines] == [str(file) for file in files]
    assert lines[0] == lines[1] == lines[2]
    assert len(lines[0]) > 3
    assert "error" not in lines[0]


@pytest.mark.parametrize("kind", SOUND)
def test_a_bad_file_has_its_line_and_the_rest_goes_on(tmp_path: Path, kind: str) -> None:
    contents = {"sound": SOUND[kind], "noise": b"\x93noise", "empty": b"", "again": SOUND[kind]}
    for name, raw in contents.items():
        (tmp_path / name).write_bytes(raw)
    files = [tmp_path / name for name in ("sound", "noise", "missing", "empty", ".", "again")]
    told = call_in(tmp_path, "decode", kind, *files)
    assert told.code == 2
    lines = lines_of(told)
    assert [line["file"] for line in lines] == [str(file) for file in files]
    assert ["error" in line for line in lines] == [False, True, True, True, True, False]
    assert lines[2]["error"] == "cannot be read: No such file or directory"
    assert lines[4]["error"] == "cannot be read: Is a directory"
    for line in (lines[1], lines[3]):
        assert set(line) == {"file", "error", "offset"}
        assert isinstance(line["offset"], int)


@settings(max_examples=60)
@given(st.sampled_from(sorted(SOUND)), st.binary(max_size=300), st.integers(0, 400))
def test_any_bytes_are_one_line(
    tmp_path_factory: pytest.TempPathFactory, kind: str, raw: bytes, kept: int
) -> None:
    place = tmp_path_factory.mktemp("any")
    (place / "noise").write_bytes(raw)
    (place / "spoilt").write_bytes(SOUND[kind][:kept] + raw)
    told = call_in(place, "decode", kind, place / "noise", place / "spoilt")
    assert len(lines_of(told)) == 2
    assert told.code == (2 if any("error" in line for line in lines_of(told)) else 0)


HOSTILE = ('"quoted" \\ back', "a\u2028b\u2029c", "\x1b[2J", "é漢", "<script>", "\x85\xa0")


@pytest.mark.parametrize("text", HOSTILE)
def test_strings_of_the_firmware_survive_as_json(tmp_path: Path, text: str) -> None:
    raw = text.encode()
    table = smbios.build_table([smbios.oem_strings([raw, b"\xff\xfe"]), smbios.end_of_table()])
    entry = smbios.build_entry_point((3, 3), len(table), 32).ljust(32, b"\0")
    (tmp_path / "dump").write_bytes(entry + table)
    told = call_in(tmp_path, "decode", "smbios", tmp_path / "dump")
    assert told.code == 0
    (line,) = lines_of(told)
    fields = line["structures"][0]["fields"]
    (strings,) = fields.values()
    told_raw = strings[0].encode("utf-8", "surrogateescape")
    assert raw in {told_raw, strings[0].encode("latin-1", "replace")}
    assert len(strings) == 2


@pytest.mark.parametrize("name", ["a\nb", 'quo"te', "\u2028", "n\udcff", "é"])
def test_names_of_files_survive_as_json(tmp_path: Path, name: str) -> None:
    (tmp_path / name).write_bytes(EDID)
    (line,) = lines_of(call_in(tmp_path, "decode", "edid", tmp_path / name, encoding="ascii"))
    assert line["file"] == str(tmp_path / name)
