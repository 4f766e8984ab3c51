"""Counts of errors on the PCI bus, short names and long ones."""

from contextlib import suppress

import pytest
from hypothesis import given
from hypothesis import strategies as st

from closeout.decode.failure import DecodeError
from closeout.decode.pci_error_counts import PciErrorCounts, decode_pci_error_counts

LONG = b"Receiver Error 2\nBad TLP 0\nRELAY_NUM Rollover 0\nTOTAL_ERR_COR 2\n"
"""Out of the sample of Documentation/ABI/testing/sysfs-bus-pci-devices-aer_stats."""
names = st.from_regex(r"[A-Za-z]([A-Za-z ]{0,20}[A-Za-z])?", fullmatch=True)
counts = st.integers(0, 2**64 - 1)


def build(found: PciErrorCounts, kind: str = "FATAL") -> bytes:
    lines = [*found.by_name, (f"TOTAL_ERR_{kind}", found.total)]
    return "".join(f"{name} {count}\n" for name, count in lines).encode()


def test_the_documents_own_sample() -> None:
    found = decode_pci_error_counts(LONG)
    assert found.total == 2
    assert found.by_name == (("Receiver Error", 2), ("Bad TLP", 0), ("RELAY_NUM Rollover", 0))


@given(
    st.builds(PciErrorCounts, total=counts, by_name=st.lists(st.tuples(names, counts)).map(tuple))
)
def test_counts_are_read_back(found: PciErrorCounts) -> None:
    assert decode_pci_error_counts(build(found)) == found


@given(st.binary())
def test_any_bytes_are_counts_or_one_error(raw: bytes) -> None:
    with suppress(DecodeError):
        assert decode_pci_error_counts(raw).total >= 0


@pytest.mark.parametrize(
    ("raw", "offset"),
    [(b"", 0), (b"RxErr 0\n", 8), (b"RxErr 0\nRxErr\n", 8), (b"RxErr -1\n", 0)],
)
def test_a_file_without_a_total_or_a_number_is_refused(raw: bytes, offset: int) -> None:
    with pytest.raises(DecodeError) as caught:
        decode_pci_error_counts(raw)
    assert caught.value.offset == offset


def test_two_totals_are_no_total() -> None:
    with pytest.raises(DecodeError, match="2 totals"):
        decode_pci_error_counts(b"TOTAL_ERR_COR 0\nTOTAL_ERR_COR 1\n")
