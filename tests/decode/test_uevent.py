"""Properties of uevent files, and the bus ids in them."""

from hypothesis import given
from hypothesis import strategies as st

from closeout.decode.uevent import decode_uevent, find_bus_id

keys = st.text(st.characters(min_codepoint=65, max_codepoint=90), min_size=1)
values = st.text(st.characters(codec="utf-8", exclude_characters="\n"))


@given(st.dictionaries(keys, values))
def test_properties_are_read_back(properties: dict[str, str]) -> None:
    lines = "".join(f"{key}={value}\n" for key, value in properties.items())
    assert decode_uevent(lines.encode()) == properties


@given(st.binary())
def test_any_bytes_give_properties(raw: bytes) -> None:
    find_bus_id(decode_uevent(raw))


def test_a_value_may_hold_the_mark_and_a_line_without_it_is_no_property() -> None:
    assert decode_uevent(b"A=b=c\nnothing\n=x\n") == {"A": "b=c"}


def test_each_bus_names_its_ids_in_its_own_way() -> None:
    assert find_bus_id({"PCI_ID": "8086:2723"}) == "8086:2723"
    assert find_bus_id({"SDIO_ID": "02D0:A9A6"}) == "02d0:a9a6"
    assert find_bus_id({"PRODUCT": "8087/29/1"}) == "8087:0029"


def test_ids_that_are_none_are_not_made_up() -> None:
    wrong: tuple[dict[str, str], ...] = (
        {},
        {"PCI_ID": "8086"},
        {"PCI_ID": ":2723"},
        {"PRODUCT": "8087//1"},
    )
    assert [find_bus_id(properties) for properties in wrong] == [None] * 4
    assert find_bus_id({"PRODUCT": "80870/29/1"}) is None


@given(st.integers(0, 0xFFFF), st.integers(0, 0xFFFF), st.integers(0, 0xFFFF))
def test_usb_numbers_are_padded(vendor: int, product: int, release: int) -> None:
    found = find_bus_id({"PRODUCT": f"{vendor:x}/{product:x}/{release:x}"})
    assert found == f"{vendor:04x}:{product:04x}"
