"""Registers of a TPM: the document's examples, and what is no register."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from closeout.decode.tpm_registers import is_measured, register_of

EXAMPLE = "2ED93F199692DC6788EFA6A1FE74514AB9760B2A6CEEAEF6C808C13E4ABB0D42"
LINES = (
    "PCR-00: 3A 3F 78 0F 11 A4 B4 99 69 FC AA 80 CD 6E 39 57 C3 3B 22 75 \n"
    "PCR-07: 00 00 00 00 00 00 00 00 00 00 00 00 00 00 00 00 00 00 00 00\n"
)


@pytest.mark.parametrize(
    ("text", "measured"),
    [
        (EXAMPLE, True),
        (EXAMPLE.lower(), True),
        ("0" * 64, False),
        ("0" * 40, False),
        ("0" * 63 + "1", True),
        ("0" * 128, False),
    ],
)
def test_measured(text: str, *, measured: bool) -> None:
    """The first is the example of Documentation/ABI/stable/sysfs-class-tpm."""
    assert is_measured(text) is measured


@pytest.mark.parametrize("text", ["", "0", "0" * 38, "0" * 65, "0" * 130, "g" * 64, EXAMPLE + "\n"])
def test_what_is_no_register(text: str) -> None:
    assert is_measured(text) is None


def test_register_of_a_list() -> None:
    """The first line is the document's example."""
    assert register_of(LINES, 0) == "3A3F780F11A4B49969FCAA80CD6E3957C33B2275"
    assert register_of(LINES, 7) == "0" * 40
    assert register_of(LINES, 1) is None


@given(st.binary(min_size=20, max_size=64))
def test_built_registers_are_measured_unless_zero(raw: bytes) -> None:
    assert is_measured(raw.hex()) is (raw != bytes(len(raw)))
    line = "PCR-05: " + " ".join(f"{byte:02X}" for byte in raw)
    assert register_of(f"PCR-04: 00\n{line}\n", 5) == raw.hex().upper()


@given(st.text(max_size=80))
def test_any_text_gives_an_answer(text: str) -> None:
    assert is_measured(text) in (True, False, None)
    found = register_of(text, 0)
    assert found is None or bytes.fromhex(found)
