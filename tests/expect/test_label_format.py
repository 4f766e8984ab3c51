"""A text off the label in the firmware's form."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from closeout.expect.label_format import AS_IT_STANDS, CASES, HYPHENS, LabelFormat


@pytest.mark.parametrize(
    ("form", "text", "told"),
    [
        (LabelFormat(), " NW-83 ", "NW-83"),
        (LabelFormat(prefixes=("S/N:",)), "s/n: NW83", "NW83"),
        (LabelFormat(prefixes=("S", "SN", "S/N")), "SN83", "83"),
        (LabelFormat(prefixes=("P/N",)), "SN83", "SN83"),
        (LabelFormat(case="upper"), "nw83", "NW83"),
        (LabelFormat(case="lower"), "NW83", "nw83"),
        (LabelFormat(hyphens="drop"), "NW-8-3", "NW83"),
        (LabelFormat(prefixes=("S-N",), case="upper", hyphens="drop"), "s-n n-1", "N1"),
    ],
)
def test_label_becomes_what_the_firmware_holds(form: LabelFormat, text: str, told: str) -> None:
    assert form.apply(text) == told


@given(st.text(max_size=20))
def test_as_it_stands_only_trims(text: str) -> None:
    assert AS_IT_STANDS.apply(text) == text.strip()


@given(
    st.text(alphabet="abcXYZ019", min_size=1, max_size=12),
    st.sampled_from(CASES),
    st.sampled_from(HYPHENS),
)
def test_the_prefix_never_matters(text: str, case: str, hyphens: str) -> None:
    form = LabelFormat(prefixes=("#:",), case=case, hyphens=hyphens)
    assert form.apply(f"#: {text}") == form.apply(text)


@given(st.text(max_size=20), st.sampled_from(CASES), st.sampled_from(HYPHENS))
def test_twice_is_as_once_without_a_prefix(text: str, case: str, hyphens: str) -> None:
    form = LabelFormat(case=case, hyphens=hyphens)
    plain = "".join(character for character in text if character.isascii())
    once = form.apply(plain)
    assert form.apply(once) == once.strip()
