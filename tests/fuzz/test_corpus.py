"""Every seed of the corpus is taken or refused, by every target; and no decoder is left out."""

import gzip
from pathlib import Path

import pytest

from closeout.cli.demo import demo_units
from closeout.expect.shipped import shipped_folder
from fuzz.corpus import CORPUS, seeds_of
from fuzz.targets import BY_HAND, REFUSALS, find_decoders, targets, wanted_of

REACHED = {
    "decode_bios": "describe_smbios",
    "decode_board": "describe_smbios",
    "decode_chassis": "describe_smbios",
    "decode_chassis_type": "describe_smbios",
    "decode_descriptor": "decode_edid",
    "decode_memory_array": "describe_smbios",
    "decode_memory_device": "describe_smbios",
    "decode_oem_strings": "describe_smbios",
    "decode_screen": "decode_edid",
    "decode_standard_timings": "decode_edid",
    "decode_structure": "describe_smbios",
    "decode_system": "describe_smbios",
    "decode_uuid": "describe_smbios",
    "describe_record": "describe_smbios",
    "parse_hexadecimal": "decode_uevent",
}
"""Decoders of parts, and the target that comes by them."""


def test_every_decoder_is_a_target_or_reached_by_one() -> None:
    alone = set(targets())
    assert {name for name in find_decoders() if name not in alone} == set(REACHED)
    assert set(REACHED.values()) <= alone
    for name in BY_HAND:
        function = find_decoders().get(name)
        assert function is None or len(wanted_of(function)) > 1


@pytest.mark.parametrize("name", targets())
def test_every_seed_is_taken_or_refused(name: str) -> None:
    run = targets()[name].run
    seeds = tuple(seeds_of(name))
    assert seeds
    for seed in seeds:
        try:
            run(seed)
        except REFUSALS:
            continue


def test_no_seed_is_nobodys() -> None:
    assert {folder.name for folder in CORPUS.iterdir()} <= set(targets())


def test_shipped_files_are_taken() -> None:
    for unit in demo_units():
        targets()["evidence"].run((unit.folder / "unit.jsonl.gz").read_bytes())
    for path in sorted((shipped_folder("reports") / "examples").glob("*.json")):
        targets()["report"].run(path.read_bytes())


def test_a_crash_is_seen() -> None:
    """The targets refuse by a few errors alone: whatever else is raised comes through."""
    assert not issubclass(ValueError, REFUSALS)
    assert Path(gzip.__file__).exists()
