"""The tests' own reader of FAT32, against files that mtools put there."""

from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from media.fat_reader import FatReader
from media.stick_image import BEGIN, fat_of, make_stick, reports_on
from oracles import fat_tools

NEEDS_TOOLS = pytest.mark.skipif(
    bool(fat_tools.reason_to_skip()), reason=fat_tools.reason_to_skip()
)

NAMES = st.from_regex(r"[A-Za-z0-9]{1,4}-attempt-0001-[0-9a-f]{8}(-2)?\.zip", fullmatch=True)
FILES = st.dictionaries(NAMES, st.binary(max_size=3000), max_size=4).filter(
    lambda files: len({name.casefold() for name in files}) == len(files)
)


@NEEDS_TOOLS
@pytest.mark.oracle
@settings(
    max_examples=8, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
@given(files=FILES)
def test_it_reads_what_mtools_wrote(tmp_path: Path, files: dict[str, bytes]) -> None:
    named = {f"reports/{name}": content for name, content in files.items()}
    image = make_stick(tmp_path / "stick.img", named)
    assert FatReader(bytearray(image.read_bytes()), BEGIN).files("reports") == files
    assert reports_on(fat_of(image, tmp_path / "fat"), tmp_path / "out") == files
