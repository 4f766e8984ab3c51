"""What is a value, what is blank, and what is filler."""

from collections.abc import Callable
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from closeout.decode.filler import RULES, Rule, State, classify
from closeout.decode.filler_text import prepare
from oracles.field_figures import read_filler_rows, read_genuine_rows, recognised
from strategies.serials import generated

FIELDS = (
    "System/Serial Number",
    "System/Product Name",
    "System/UUID",
    "System/SKU Number",
    "BIOS/Version",
    "BIOS/Release Date",
    "BaseBoard/Version",
    "Chassis/Asset Tag",
    "Chassis/Manufacturer",
    "MemoryDevice/Manufacturer",
    "MemoryDevice/Part Number",
    "MemoryDevice/Locator",
    "PortableBattery/SBDS Manufacture Date",
    "PortableBattery/Serial Number",
    "Somewhere/Something",
    "",
)
SURE_FILLERS = (
    ("System/Serial Number", "To be filled by O.E.M."),
    ("System/Serial Number", "BSN12345678901234567"),
    ("System/Serial Number", "0123456789"),
    ("System/Serial Number", "0202"),
    ("System/Serial Number", "CHASSIS"),
    ("System/Product Name", "System Product Name"),
    ("System/Product Name", "Defualt string"),
    ("System/Product Name", "Tobefilledbyo.e.m"),
    ("System/Product Name", "T.B.D."),
    ("System/Product Name", "Not Specfied"),
    ("System/SKU Number", "$(SKU_NUMBER)"),
    ("System/SKU Number", "xxx123x#ABA"),
    ("System/UUID", "03000200-0400-0500-0006-000700080009"),
    ("System/UUID", "00112233-4455-6677-8899-AABBCCDDEEFF"),
    ("System/UUID", "4C4C4544-0000-2010-8020-80C04F202020"),
    ("BaseBoard/Version", "Rev 1.xx"),
    ("BaseBoard/Version", "Type2 - Board Version 1"),
    ("System/Product Name", "Type1ProductConfigId"),
    ("Chassis/Asset Tag", "Type3 - Asset"),
    ("System/Serial Number", "NO DATA"),
    ("BaseBoard/Manufacturer", "Chassis Manufactuer"),
    ("BaseBoard/Location In Chassis", "Chassis Location Unknown"),
    ("Chassis/Asset Tag", "No Asset Tag"),
    ("MemoryDevice/Manufacturer", "Unknown - [0x9E02]"),
    ("MemoryDevice/Manufacturer", "[Empty]"),
    ("MemoryDevice/Manufacturer", "Module not installed"),
    ("MemoryDevice/Manufacturer", "0x0000"),
    ("MemoryDevice/Part Number", "ChannelB_DIMM0_PartNum0"),
    ("MemoryDevice/Part Number", "5656565656565656"),
    ("PortableBattery/Name", "Battery 2 Name"),
    ("PortableBattery/SBDS Manufacture Date", "1980-00-00"),
    ("PowerSupply/Location", "OEM_Define3"),
)
GENUINE = (
    ("BIOS/Version", "0202"),
    ("BIOS/Version", "1111"),
    ("BIOS/Version", "FBi"),
    ("BIOS/Version", "Version 1.11"),
    ("BaseBoard/Version", "X"),
    ("BaseBoard/Version", "Rev 1.0"),
    ("System/Manufacturer", "System76"),
    ("System/Product Name", "GMxTGxx"),
    ("System/Product Name", "Default Gaming X"),
    ("System/SKU Number", "sku33"),
    ("System/Family", "Family 17"),
    ("System/Serial Number", "PF0ABCDE"),
    ("System/UUID", "00000000-0000-0000-0000-309c23a1b2c3"),
    ("System/UUID", "4C4C4544-0042-3510-8054-B4C04F4D5A31"),
    ("Chassis/Asset Tag", "0202"),
    ("MemoryDevice/Locator", "Motherboard"),
    ("MemoryDevice/Locator", "DIMM_A1"),
    ("MemoryDevice/Manufacturer", "80AD000080AD"),
    ("MemoryDevice/Manufacturer", "AD00000000000000"),
    ("MemoryDevice/Manufacturer", "PNY"),
    ("Processor/Socket Designation", "......SOCKET 0"),
    ("Processor/Version", "AMD Processor model unknown"),
    ("PortableBattery/Serial Number", "0123"),
    ("PortableBattery/Location", "Left side of System"),
    ("PortableBattery/Manufacture Date", "12/12/2012"),
)
SERIALS_OF_A_SHAPE = 10_000


@pytest.mark.parametrize(("field", "text"), SURE_FILLERS)
def test_placeholder_is_filler_with_a_reason(field: str, text: str) -> None:
    found = classify(field, text)
    assert found.state is State.FILLER
    assert found.reason


@pytest.mark.parametrize(("field", "text"), GENUINE)
def test_odd_but_genuine_text_is_a_value(field: str, text: str) -> None:
    found = classify(field, text)
    assert found.state is State.VALUE, found.reason


@pytest.mark.parametrize("text", ["", " ", "\t", "\0\0", " \t\0 "])
@pytest.mark.parametrize("field", FIELDS)
def test_nothing_but_padding_is_blank(field: str, text: str) -> None:
    assert classify(field, text).state is State.BLANK


@pytest.mark.parametrize("digit", ["0", "f", "F"])
def test_nil_and_max_uuid_are_blank(digit: str) -> None:
    """RFC 9562 5.9 and 5.10; SMBIOS (DSP0134) 7.2.1: not present, not set."""
    text = "-".join(digit * count for count in (8, 4, 4, 4, 12))
    assert classify("System/UUID", text).state is State.BLANK
    assert classify("System/UUID", text.replace("-", "")).state is State.BLANK


@given(
    st.sampled_from(SURE_FILLERS),
    st.sampled_from((str.upper, str.lower, str.swapcase, str.title)),
    st.text(alphabet=" \t\0", max_size=20),
    st.sampled_from(("", ".", "..", "!", " .", ",")),
    st.text(alphabet=" \0", max_size=20),
)
def test_case_padding_and_punctuation_hide_no_filler(
    filler: tuple[str, str], cased: Callable[[str], str], before: str, mark: str, after: str
) -> None:
    field, text = filler
    assert classify(field, before + cased(text) + mark + after).state is State.FILLER


@given(st.sampled_from(FIELDS), st.text(), st.text(alphabet=" \t\0", max_size=8))
def test_padding_changes_no_state(field: str, text: str, padding: str) -> None:
    assert classify(field, padding + text + padding) == classify(field, text)


@given(
    st.text() | st.sampled_from(FIELDS),
    st.text(alphabet=st.characters(codec=None)) | st.binary().map(lambda raw: raw.decode("latin1")),
)
def test_any_text_gets_a_state(field: str, text: str) -> None:
    found = classify(field, text)
    assert (found.reason == "") is (found.state is State.VALUE)


@given(st.sampled_from(RULES), st.sampled_from(FIELDS), st.text(min_size=1))
def test_each_rule_stands_alone(rule: Rule, field: str, text: str) -> None:
    """No rule leans on an earlier one to keep it from failing."""
    assert rule.holds(prepare(field, text)) in {True, False}


@pytest.mark.parametrize(
    "unit", ["x", "0", "$(", "%a", "1.", "to be ", "not", "x.x", "<", "serial", "é", "\ud800", "["]
)
@pytest.mark.parametrize("field", FIELDS)
def test_a_million_characters_are_answered(field: str, unit: str) -> None:
    assert classify(field, unit * (1_000_000 // len(unit))).state in State


@pytest.mark.unmeasured
def test_generated_serials_are_values() -> None:
    """At most 0.3 % of each shape."""
    for (field, shape), texts in generated(SERIALS_OF_A_SHAPE).items():
        alarms = [text for text in texts if classify(field, text).state is not State.VALUE]
        print(f"{shape}: {len(alarms)} of {len(texts)} filler")  # noqa: T201 - the figure counts
        assert len(alarms) <= 0.003 * len(texts), shape


def test_recall_on_public_collections(test_data: Path) -> None:
    """At least 99 % of the sure fillers, weighted by machines; likely ones have no target."""
    rows = read_filler_rows(test_data)
    for label, target in (("sure", 99.0), ("likely", 0.0)):
        share = recognised(row for row in rows if row.label == label)
        print(f"recall of {label}: {share.percent:.3f} % of {share.whole}")  # noqa: T201 - the figure counts
        assert share.whole > 0
        assert share.percent >= target


def test_false_alarms_on_public_collections(test_data: Path) -> None:
    """At most 0.3 % of the odd but genuine values, weighted by machines."""
    share = recognised(read_genuine_rows(test_data))
    print(f"false alarms: {share.percent:.3f} % of {share.whole}")  # noqa: T201 - the figure counts
    assert share.whole > 0
    assert share.percent <= 0.3
