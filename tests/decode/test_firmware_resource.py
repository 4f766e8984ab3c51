"""Words of the resource table: the UEFI specification's, and what it does not define."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from closeout.decode.firmware_resource import attempt_status, resource_type
from closeout.decode.smbios_fields import Field, Lack, Missing


def lack_of(field: Field[str]) -> Lack:
    assert isinstance(field, Missing), field
    return field.lack


@pytest.mark.parametrize(
    ("number", "word"), [(1, "System Firmware"), (2, "Device Firmware"), (3, "UEFI Driver")]
)
def test_types(number: int, word: str) -> None:
    assert resource_type(number) == word


def test_type_that_is_not_known() -> None:
    assert lack_of(resource_type(0)) is Lack.UNKNOWN
    assert lack_of(resource_type(4)) is Lack.UNDEFINED


@pytest.mark.parametrize(
    ("number", "word"),
    [
        (0, "Success"),
        (1, "Unsuccessful"),
        (2, "Insufficient Resources"),
        (3, "Incorrect Version"),
        (4, "Invalid Format"),
        (5, "Authentication Error"),
        (6, "AC Not Connected"),
        (7, "Insufficient Battery"),
        (8, "Unsatisfied Dependencies"),
        (0x1000, "maker's own error 0x1000"),
        (0x4000, "maker's own error 0x4000"),
    ],
)
def test_statuses(number: int, word: str) -> None:
    """UEFI specification 2.10, 23.4: LAST_ATTEMPT_STATUS_..."""
    assert attempt_status(number) == word


@pytest.mark.parametrize("number", [-1, 9, 0xFFF, 0x4001, 1 << 32])
def test_status_that_is_not_defined(number: int) -> None:
    assert lack_of(attempt_status(number)) is Lack.UNDEFINED


@given(st.integers())
def test_any_number_has_a_word_or_a_reason(number: int) -> None:
    for field in (resource_type(number), attempt_status(number)):
        assert field if isinstance(field, str) else field.reason
