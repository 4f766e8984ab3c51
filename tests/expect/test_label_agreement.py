"""The scanned label in the order's form."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from closeout.expect.label_agreement import read_scanned_label
from closeout.expect.label_format import LabelFormat
from closeout.expect.scan import SHOWN_BY_LAYOUT, US_KEYS, type_on

SERIALS = st.text(alphabet=US_KEYS[:-2], min_size=1, max_size=20).map(str.strip).filter(bool)
FORMATS = {"serial": LabelFormat(prefixes=("S/N:", "SN"), hyphens="drop")}


@given(SERIALS, st.sampled_from(["", *SHOWN_BY_LAYOUT]), st.booleans())
def test_a_label_that_agrees_has_the_form_of_the_order(
    serial: str,
    layout: str,
    lower: bool,  # noqa: FBT001 - drawn
) -> None:
    label = serial.lower() if lower else serial
    typed = type_on(layout, label) if layout else label
    assert read_scanned_label(typed, serial) == serial


@pytest.mark.parametrize(
    ("typed", "serial", "expected"),
    [
        ("S/N: NL7-QK42D", "NL7QK42D", "NL7QK42D"),
        ("]C0nl7qk42d\r\n", "NL7QK42D", "NL7QK42D"),
        ("SN NL7QK42X", "NL7QK42D", "NL7QK42X"),
        ("SN NL7QK42X", "", "NL7QK42X"),
        ("NL7QK42D", " nl7qk42d ", " nl7qk42d "),
    ],
)
def test_a_label_goes_by_the_format_of_the_model(typed: str, serial: str, expected: str) -> None:
    assert read_scanned_label(typed, serial, FORMATS) == expected
