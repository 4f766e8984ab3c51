"""Types 0, 1, 2, 3 and 11: worked values, sentinels, what was built, and every length."""

from dataclasses import fields, replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from closeout.decode.plain_text import decode_text
from closeout.decode.smbios_bios import decode_bios
from closeout.decode.smbios_chassis import ContainedElement, decode_chassis, decode_chassis_type
from closeout.decode.smbios_description import decode_structure
from closeout.decode.smbios_fields import Field, Lack, Missing
from closeout.decode.smbios_identity import (
    decode_board,
    decode_oem_strings,
    decode_system,
    decode_uuid,
)
from closeout.decode.smbios_table import Structure, decode_table
from strategies import smbios

WORKED_UUID = bytes.fromhex("33221100554477668899aabbccddeeff")
"""DSP0134 7.2.1 prints these bytes for the text below."""
WORKED_TEXT = "00112233-4455-6677-8899-aabbccddeeff"


def only(raw: bytes) -> Structure:
    return decode_table(raw + smbios.end_of_table()).structures[0]


def lack_of(field: Field[object]) -> Lack:
    assert isinstance(field, Missing), field
    return field.lack


def told(text: smbios.Text) -> object:
    """What a text that was built in comes back as."""
    if text is None:
        return Missing(lack=Lack.NO_STRING, reason="no string is given (index 0)")
    return decode_text(text if isinstance(text, bytes) else text.encode())


def test_worked_uuid() -> None:
    assert decode_uuid(WORKED_UUID, (3, 3)) == WORKED_TEXT
    assert decode_uuid(WORKED_UUID, (2, 6)) == WORKED_TEXT
    assert decode_uuid(WORKED_UUID, None) == WORKED_TEXT


def test_uuid_before_version_2_6_has_no_swapped_fields() -> None:
    assert decode_uuid(WORKED_UUID, (2, 5)) == "33221100-5544-7766-8899-aabbccddeeff"


@pytest.mark.parametrize("byte", ["00", "FF"])
def test_uuid_that_is_not_set(byte: str) -> None:
    field = decode_uuid(bytes.fromhex(byte * 16), (3, 3))
    assert field == Missing(lack=Lack.NOT_SET, reason=f"all {byte}: no UUID is set")


@pytest.mark.parametrize(
    ("rom_size", "extended", "expected"),
    [
        (0x00, 0, 64 << 10),
        (0x7F, 0, 8 << 20),
        (0xFF, 0x0020, 32 << 20),
        (0xFF, 0x4002, 2 << 30),
    ],
)
def test_rom_size(rom_size: int, extended: int, expected: int) -> None:
    """7.1: 64 KiB times n + 1, or from 16 MiB on a number of MiB (00b) or GiB (01b)."""
    structure = only(smbios.bios(rom_size=rom_size, extended_rom_size=extended))
    assert decode_bios(structure).rom_size_bytes == expected


def test_rom_size_of_an_undefined_unit() -> None:
    structure = only(smbios.bios(extended_rom_size=0x8001))
    assert lack_of(decode_bios(structure).rom_size_bytes) is Lack.UNDEFINED


def test_rom_size_before_there_was_an_extended_one() -> None:
    structure = only(smbios.build_structure(0, 0, smbios.bios()[4:24]))
    assert decode_bios(structure).rom_size_bytes == 16 << 20


def test_address_and_runtime_size() -> None:
    record = decode_bios(only(smbios.bios(segment=0xE800)))
    assert (record.address, record.runtime_size_bytes) == (0xE8000, 0x18000)
    assert lack_of(decode_bios(only(smbios.bios(segment=0))).address) is Lack.NOT_THERE


def test_releases() -> None:
    record = decode_bios(only(smbios.bios(release=(1, 69), ec_release=(0xFF, 0xFF))))
    assert record.release == "1.69"
    assert lack_of(record.ec_release) is Lack.UNKNOWN


@pytest.mark.parametrize(("second", "capable"), [(0x08, True), (0x07, False)])
def test_uefi_bit(second: int, capable: bool) -> None:  # noqa: FBT001 - parametrized
    assert decode_bios(only(smbios.bios(extensions=(0, second)))).is_uefi_capable is capable


def test_characteristics_that_are_not_supported_say_nothing_else() -> None:
    record = decode_bios(only(smbios.bios(characteristics=0xFF8)))
    assert record.characteristics == ("BIOS characteristics not supported",)


def test_words_that_mean_unknown_and_codes_that_mean_nothing() -> None:
    assert lack_of(decode_system(only(smbios.system(wake_up=2)), None).wake_up) is Lack.UNKNOWN
    assert lack_of(decode_system(only(smbios.system(wake_up=9)), None).wake_up) is Lack.UNDEFINED
    assert lack_of(decode_chassis_type(2)) is Lack.UNKNOWN


def test_chassis_type_with_and_without_lock() -> None:
    locked = decode_chassis(only(smbios.chassis(chassis_type=0x8A)))
    assert (locked.chassis_type, locked.has_lock) == ("Notebook", True)
    assert decode_chassis(only(smbios.chassis(chassis_type=0x1F))).has_lock is False


@pytest.mark.parametrize(
    ("number", "word"),
    [
        (8, "Portable"),
        (9, "Laptop"),
        (10, "Notebook"),
        (14, "Sub Notebook"),
        (30, "Tablet"),
        (31, "Convertible"),
        (32, "Detachable"),
    ],
)
def test_chassis_types_of_portable_units(number: int, word: str) -> None:
    """As dmidecode 3.4 prints them."""
    assert decode_chassis_type(number) == word


def test_contained_elements_and_the_sku_behind_them() -> None:
    record = decode_chassis(
        only(smbios.chassis(elements=((0x84, 1, 2), (0x0A, 0, 1)), sku="CS-14", height=2))
    )
    other = Missing(lack=Lack.NOT_THERE, reason="the element is named by the other type")
    assert record.contained_elements == (
        ContainedElement(structure_type=4, board_type=other, at_least=1, at_most=2),
        ContainedElement(structure_type=other, board_type="Motherboard", at_least=0, at_most=1),
    )
    assert record.sku == "CS-14"
    assert record.height_units == 2


def test_element_records_too_small_to_hold_anything() -> None:
    body = bytes([0, 10, 0, 0, 0, 3, 3, 3, 3]) + bytes(6) + bytes([1, 2, 0x84, 1, 0])
    record = decode_chassis(only(smbios.build_structure(3, 3, body)))
    assert lack_of(record.contained_elements) is Lack.UNDEFINED
    assert lack_of(record.sku) is Lack.NO_STRING


def test_oem_strings_beyond_those_that_are_there() -> None:
    record = decode_oem_strings(only(smbios.oem_strings([b"one"], count=2)))
    assert not isinstance(record.strings, Missing)
    assert record.strings[0] == "one"
    assert lack_of(record.strings[1]) is Lack.BAD_INDEX


@pytest.mark.parametrize(
    ("raw", "text"),
    [(b"plain", "plain"), ("Größe".encode(), "Größe"), (b"Gr\xf6\xdfe", "Größe")],
)
def test_text_is_utf_8_else_latin_1(raw: bytes, text: str) -> None:
    assert decode_text(raw) == text


@given(st.tuples(*[smbios.TEXTS] * 6), st.binary(min_size=16, max_size=16))
def test_built_system_comes_back(texts: tuple[smbios.Text, ...], uuid: bytes) -> None:
    manufacturer, product, version, serial, sku, family = texts
    record = decode_system(
        only(
            smbios.system(
                manufacturer=manufacturer,
                product=product,
                version=version,
                serial=serial,
                uuid=uuid,
                sku=sku,
                family=family,
            )
        ),
        (3, 3),
    )
    found = (record.manufacturer, record.product, record.version, record.serial)
    assert (*found, record.sku, record.family) == tuple(told(text) for text in texts)
    assert record.uuid == decode_uuid(uuid, (3, 3))


@given(
    st.tuples(*[smbios.TEXTS] * 6),
    smbios.WORDS,
    st.lists(smbios.WORDS, max_size=5).map(tuple),
)
def test_built_board_comes_back(
    texts: tuple[smbios.Text, ...], chassis_handle: int, contained: tuple[int, ...]
) -> None:
    manufacturer, product, version, serial, asset_tag, location = texts
    record = decode_board(
        only(
            smbios.board(
                manufacturer=manufacturer,
                product=product,
                version=version,
                serial=serial,
                asset_tag=asset_tag,
                location=location,
                chassis_handle=chassis_handle,
                contained=contained,
            )
        )
    )
    found = (record.manufacturer, record.product, record.version, record.serial)
    assert (*found, record.asset_tag, record.location) == tuple(told(text) for text in texts)
    assert record.chassis_handle == chassis_handle
    assert record.contained_handles == contained


@given(
    st.tuples(*[smbios.TEXTS] * 5),
    smbios.DWORDS,
    st.lists(st.tuples(*[smbios.BYTES] * 3), max_size=4),
)
def test_built_chassis_comes_back(
    texts: tuple[smbios.Text, ...], oem_defined: int, elements: list[tuple[int, int, int]]
) -> None:
    manufacturer, version, serial, asset_tag, sku = texts
    record = decode_chassis(
        only(
            smbios.chassis(
                manufacturer=manufacturer,
                version=version,
                serial=serial,
                asset_tag=asset_tag,
                sku=sku,
                oem_defined=oem_defined,
                elements=elements,
            )
        )
    )
    found = (record.manufacturer, record.version, record.serial, record.asset_tag, record.sku)
    assert found == tuple(told(text) for text in texts)
    assert record.oem_defined == oem_defined
    assert not isinstance(record.contained_elements, Missing)
    limits = [(element.at_least, element.at_most) for element in record.contained_elements]
    assert limits == [element[1:] for element in elements]


@given(st.tuples(*[smbios.TEXTS] * 3), st.integers(0, 0xFE), st.integers(0, 0xFF))
def test_built_bios_comes_back(texts: tuple[smbios.Text, ...], size: int, minor: int) -> None:
    vendor, version, date = texts
    record = decode_bios(
        only(
            smbios.bios(
                vendor=vendor, version=version, date=date, rom_size=size, release=(3, minor)
            )
        )
    )
    assert (record.vendor, record.version, record.date) == tuple(told(text) for text in texts)
    assert record.rom_size_bytes == (size + 1) << 16
    assert record.release == f"3.{minor}"


@given(st.lists(smbios.TEXTS.filter(bool), max_size=8))
def test_built_oem_strings_come_back(texts: list[bytes]) -> None:
    record = decode_oem_strings(only(smbios.oem_strings(texts)))
    assert record.strings == tuple(decode_text(text) for text in texts)


WHOLE = (
    smbios.bios(vendor="v", segment=0xF000, rom_size=1, release=(1, 2), ec_release=(3, 4)),
    smbios.system(serial="s", uuid=WORKED_UUID, sku="k", family="f"),
    smbios.board(serial="s", location="l", contained=(1, 2)),
    smbios.chassis(serial="s", height=1, elements=((0x84, 1, 2),), sku="k"),
    smbios.memory_array(),
    smbios.memory_device(locator="l", part_number="p", size=0x7FFF, extended_size=1),
)


@pytest.mark.parametrize("raw", WHOLE)
def test_shorter_structure_loses_fields_and_changes_none(raw: bytes) -> None:
    whole = only(raw)
    complete = decode_structure(whole, (3, 3))
    for length in range(4, whole.length):
        shorter = replace(whole, length=length, formatted=whole.formatted[:length])
        record = decode_structure(shorter, (3, 3))
        for field in fields(record):  # type: ignore[arg-type]
            found, expected = getattr(record, field.name), getattr(complete, field.name)
            too_short = isinstance(found, Missing) and found.lack is Lack.TOO_SHORT
            assert too_short or found == expected, (length, field.name)


@pytest.mark.parametrize("raw", WHOLE)
def test_cut_structure_loses_fields_and_changes_none(raw: bytes) -> None:
    complete = decode_structure(only(raw), (3, 3))
    for cut in range(4, len(raw)):
        record = decode_structure(decode_table(raw[:cut]).structures[0], (3, 3))
        for field in fields(record):  # type: ignore[arg-type]
            found, expected = getattr(record, field.name), getattr(complete, field.name)
            is_cut = isinstance(found, Missing) and found.lack is Lack.CUT
            assert is_cut or found == expected, (cut, field.name)
