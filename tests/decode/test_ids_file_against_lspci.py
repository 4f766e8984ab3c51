"""Names out of the system's pci.ids, compared with lspci on a sample of the whole file."""

import random
import re
from pathlib import Path

import pytest

from closeout.decode.ids_file import match_ids
from oracles.lspci import IDS_FILE, name_functions, reason_to_skip

SAMPLE = 1500
LINE = re.compile(rb"^(?:([0-9a-f]{4})  |\t([0-9a-f]{4})  )", re.MULTILINE)


def listed_pairs(content: bytes) -> list[tuple[str, str]]:
    """Every vendor with each of its devices, by position alone."""
    vendors = content[: content.index(b"\nC 00  ")]
    pairs: list[tuple[str, str]] = []
    vendor = ""
    for found in LINE.finditer(vendors):
        if found.group(1):
            vendor = found.group(1).decode()
        else:
            pairs.append((vendor, found.group(2).decode()))
    return pairs


@pytest.mark.oracle
def test_a_sample_of_the_file_is_named_alike(tmp_path: Path) -> None:
    if reason := reason_to_skip():
        pytest.skip(reason)
    content = IDS_FILE.read_bytes()
    pairs = listed_pairs(content)
    chosen = random.Random(2).sample(pairs, SAMPLE)  # noqa: S311 - a sample, no secret
    ours: list[tuple[str | None, str | None]] = []
    for vendor, device in chosen:
        names = match_ids(content, vendor, device)
        ours.append((names.vendor, names.device))
    assert ours == name_functions(chosen, tmp_path)


@pytest.mark.oracle
def test_numbers_that_the_file_does_not_list_have_no_name(tmp_path: Path) -> None:
    if reason := reason_to_skip():
        pytest.skip(reason)
    content = IDS_FILE.read_bytes()
    known = set(listed_pairs(content))
    vendor = next(iter(sorted(known)))[0]
    device = next(
        f"{number:04x}" for number in range(1, 0xFFFF) if (vendor, f"{number:04x}") not in known
    )
    names = match_ids(content, vendor, device)
    shown = name_functions([(vendor, device)], tmp_path)
    assert shown == [(names.vendor, f"Device {device}")]
    assert names.device is None
