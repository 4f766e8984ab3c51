"""Answers to IDENTIFY DEVICE: built from the layout, damaged, and any bytes."""

from contextlib import suppress

import pytest
from hypothesis import given
from hypothesis import strategies as st

from closeout.decode.ata_identify import decode_ata_identify
from closeout.decode.drive_block import is_sum_good
from closeout.decode.failure import DecodeError
from closeout.decode.scsi_pages import identify_of_page
from strategies.drive_blocks import identify_device, information_page, with_sum

printable = st.characters(min_codepoint=0x21, max_codepoint=0x7E)


@given(
    st.text(printable, max_size=40), st.text(printable, max_size=20), st.text(printable, max_size=8)
)
def test_texts_are_read_back_whole(model: str, serial: str, firmware: str) -> None:
    found = decode_ata_identify(identify_device(model, serial, firmware))
    assert (found.model, found.serial, found.firmware) == (model, serial, firmware)
    assert found.checksum_good is True


def test_text_is_stored_with_its_pairs_swapped() -> None:
    block = identify_device(serial="SATASER1")
    assert block[20:28] == b"ASATES1R"
    assert decode_ata_identify(block).serial == "SATASER1"


def test_the_worked_sum() -> None:
    """512 bytes of zero but 40h at 0 and A5h at 510 end in 1Bh."""
    block = bytearray(512)
    block[0], block[510] = 0x40, 0xA5
    assert with_sum(block)[511] == 0x1B
    assert decode_ata_identify(with_sum(block)).checksum_good is True


@given(st.integers(0, 509), st.integers(1, 255))
def test_a_changed_byte_is_noticed(at: int, change: int) -> None:
    block = bytearray(identify_device())
    block[at] ^= change
    with suppress(DecodeError):
        assert decode_ata_identify(bytes(block)).checksum_good is False


def test_without_the_signature_there_is_no_sum() -> None:
    assert decode_ata_identify(identify_device(signed=False)).checksum_good is None


@pytest.mark.parametrize(
    ("words", "sectors"),
    [
        ({60: 0xFFFF, 61: 0x0FFF}, 0x0FFF_FFFF),
        ({60: 0xFFFF, 61: 0x0FFF, 83: 0x4400, 100: 0x6DB0, 101: 0x3A38}, 0x3A38_6DB0),
        ({60: 0x1000, 83: 0x4400}, 0x1000),
        ({}, None),
    ],
)
def test_sectors_are_counted_in_28_or_48_bits(words: dict[int, int], sectors: int | None) -> None:
    assert decode_ata_identify(identify_device(words=words)).sectors == sectors


@pytest.mark.parametrize(
    ("words", "sizes"),
    [
        ({}, (512, 512)),
        ({106: 0x6003}, (512, 4096)),
        ({106: 0x5000, 117: 2048}, (4096, 4096)),
        ({106: 0xFFFF, 117: 2048}, (512, 512)),
    ],
)
def test_sizes_of_sectors(words: dict[int, int], sizes: tuple[int, int]) -> None:
    found = decode_ata_identify(identify_device(words=words))
    assert (found.logical_sector_bytes, found.physical_sector_bytes) == sizes


@pytest.mark.parametrize(
    ("word", "turns"),
    [(0, None), (1, 0), (2, None), (0x0401, 0x0401), (7200, 7200), (0xFFFF, None)],
)
def test_rotation(word: int, turns: int | None) -> None:
    assert decode_ata_identify(identify_device(words={217: word})).rotations_per_minute == turns


@pytest.mark.parametrize(
    ("best", "now", "speeds"),
    [
        (0x000E, 0x0006, ("6.0 Gbps", "6.0 Gbps")),
        (0x000E, 0x0002, ("6.0 Gbps", "1.5 Gbps")),
        (0x0006, 0x0004, ("3.0 Gbps", "3.0 Gbps")),
        (0x0100, 0x0000, (None, None)),
        (0x0000, 0x0006, (None, None)),
        (0xFFFF, 0xFFFF, (None, None)),
    ],
)
def test_speeds_of_the_link(best: int, now: int, speeds: tuple[str | None, str | None]) -> None:
    found = decode_ata_identify(identify_device(words={76: best, 77: now}))
    assert (found.link_speed_best, found.link_speed_now) == speeds


@pytest.mark.parametrize(
    ("words", "security"),
    [
        ({128: 0x0021}, ("supported", "enhanced erase supported")),
        ({128: 0x0029}, ("supported", "frozen", "enhanced erase supported")),
        ({128: 0x0107}, ("supported", "enabled", "locked", "maximum level")),
        ({128: 0x0017}, ("supported", "enabled", "locked", "attempts used up")),
        ({128: 0}, ()),
        ({128: 0, 83: 0}, None),
        ({128: 0xFFFF}, None),
    ],
)
def test_security_in_words(words: dict[int, int], security: tuple[str, ...] | None) -> None:
    assert decode_ata_identify(identify_device(words=words)).security == security


@pytest.mark.parametrize(
    ("words", "smart"),
    [
        ({}, (True, True)),
        ({82: 0, 85: 0}, (False, False)),
        ({85: 0}, (True, False)),
        ({83: 0, 87: 0}, (None, None)),
    ],
)
def test_smart_supported_and_enabled(
    words: dict[int, int], smart: tuple[bool | None, bool | None]
) -> None:
    found = decode_ata_identify(identify_device(words=words))
    assert (found.smart_supported, found.smart_enabled) == smart


@pytest.mark.parametrize(
    ("word", "majors"), [(0x07F0, (4, 5, 6, 7, 8, 9, 10)), (0, ()), (0xFFFF, ())]
)
def test_versions(word: int, majors: tuple[int, ...]) -> None:
    assert decode_ata_identify(identify_device(words={80: word})).major_versions == majors


def test_a_packet_device_is_no_drive_and_a_flash_card_is_one() -> None:
    with pytest.raises(DecodeError, match="packet device"):
        decode_ata_identify(identify_device(words={0: 0x85C0}))
    assert decode_ata_identify(identify_device(words={0: 0x848A})).model == "Norvik S4 Drive"


@pytest.mark.parametrize("raw", [bytes(512), b"\xff" * 512, bytes(511), bytes(513), b""])
def test_no_block_is_no_drive(raw: bytes) -> None:
    with pytest.raises(DecodeError):
        decode_ata_identify(raw)


def test_the_block_is_in_page_89h() -> None:
    block = identify_device()
    assert identify_of_page(information_page(block)) == block
    with pytest.raises(DecodeError, match="512 bytes of identity"):
        identify_of_page(bytes((0, 0x89, 0, 60)) + bytes(60))


@given(st.binary(min_size=512, max_size=512) | st.binary(max_size=600))
def test_any_bytes_give_an_object_or_one_error(raw: bytes) -> None:
    with suppress(DecodeError):
        found = decode_ata_identify(raw)
        assert found.checksum_good in {None, is_sum_good(raw)}
