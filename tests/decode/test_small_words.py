"""Words of kernel attributes: the chosen one in brackets, ids of a modalias, ids of firmware."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from closeout.decode.acpi_ids import (
    LAYOUT,
    USUALLY_DRIVEN,
    has_usual_driver,
    stands_for_a_part,
)
from closeout.decode.bracketed import parse_chosen_word
from closeout.decode.modalias import parse_modalias


@pytest.mark.parametrize(
    ("text", "chosen"),
    [
        ("host [device]", "device"),
        ("[dual] source sink", "dual"),
        ("source", "source"),
        ("[source]", "source"),
        ("", None),
        ("source sink", None),
        ("[source] [sink]", None),
        ("[source", None),
        ("so[ur]ce x[", None),
        ("[]", None),
    ],
)
def test_the_chosen_word(text: str, chosen: str | None) -> None:
    assert parse_chosen_word(text) == chosen


words = st.from_regex(r"[a-z_0-9]{1,12}", fullmatch=True)


@given(st.lists(words, min_size=1, max_size=4), st.data())
def test_one_word_in_brackets_is_the_chosen_one(listed: list[str], data: st.DataObject) -> None:
    at = data.draw(st.integers(0, len(listed) - 1))
    text = " ".join(f"[{word}]" if index == at else word for index, word in enumerate(listed))
    assert parse_chosen_word(text) == listed[at]


@given(st.text(max_size=40))
def test_any_text_gives_one_of_its_words_or_nothing(text: str) -> None:
    chosen = parse_chosen_word(text)
    assert chosen is None or chosen in text
    assert all(
        part in text.lower() or part in text for part in parse_modalias(text) if ":" not in part
    )


@pytest.mark.parametrize(
    ("text", "ids"),
    [
        ("acpi:FE310214:PNP0C50:", ("FE310214", "PNP0C50")),
        ("acpi:PNP0C0A:", ("PNP0C0A",)),
        ("i2c:lm75b", ("lm75b",)),
        ("spi:nl-reader", ("nl-reader",)),
        ("sdio:c07v02D0dA9A6", ("02d0:a9a6",)),
        ("sdio:nonsense", ()),
        ("nothing", ()),
        ("acpi:", ()),
        ("", ()),
    ],
)
def test_ids_of_a_modalias(text: str, ids: tuple[str, ...]) -> None:
    assert parse_modalias(text) == ids


def test_parts_are_told_from_the_layout_of_firmware() -> None:
    assert stands_for_a_part("PNP0C50")
    assert stands_for_a_part("FE310214")
    assert not stands_for_a_part("LNXCPU")
    assert not stands_for_a_part("device")
    assert not any(stands_for_a_part(one) for one in LAYOUT)
    assert all(map(stands_for_a_part, USUALLY_DRIVEN))


def test_ids_of_standards_usually_have_a_driver() -> None:
    assert has_usual_driver(("FE310214", "PNP0C50"))
    assert not has_usual_driver(("FE310214",))
    assert not has_usual_driver(())
