"""Names out of a file of ids, the question for them and its answer."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from closeout.decode.failure import DecodeError
from closeout.decode.ids_file import (
    Names,
    NamesQuestion,
    decode_names,
    encode_names,
    match_ids,
    names_question,
    parse_names_question,
)

FILE = b"""# A file of names, drawn
#\tSyntax follows
8086  Norvik Silicon
\t2723  Radio Card 200
\t\t8086 0084  Its small edition
# a remark between devices
\t8c22  Bus Controller
8087  Norvik Silicon (second number)
\t0029  Radio Card 200, second half
C 03  Display controller
\t00  VGA compatible controller
\t2723  not a device
"""

four_digits = st.text("0123456789abcdef", min_size=4, max_size=4)
names = st.text(st.characters(codec="utf-8"), min_size=1)


def test_vendor_and_device_are_found() -> None:
    assert match_ids(FILE, "8086", "8c22") == Names(
        vendor="Norvik Silicon", device="Bus Controller"
    )
    assert match_ids(FILE, "8087", "0029").device == "Radio Card 200, second half"


def test_a_device_of_another_vendor_or_section_is_not_taken() -> None:
    assert match_ids(FILE, "8087", "2723") == Names(
        vendor="Norvik Silicon (second number)", device=None
    )
    assert match_ids(FILE, "8086", "0084").device is None
    assert match_ids(FILE, "1af4", "2723") == Names(vendor=None, device=None)


@given(st.binary(), four_digits, four_digits)
def test_any_file_gives_an_answer_that_can_be_read_back(
    content: bytes, vendor: str, device: str
) -> None:
    for file in (content, vendor.encode() + b"  " + content, FILE + content):
        found = match_ids(file, vendor, device)
        assert decode_names(encode_names(found)) == found


@given(st.lists(st.tuples(four_digits, four_digits), unique=True), st.data())
def test_what_a_file_lists_is_found(listed: list[tuple[str, str]], data: st.DataObject) -> None:
    vendors = sorted({vendor for vendor, _ in listed})
    lines: list[str] = []
    for vendor in vendors:
        lines.append(f"{vendor}  Maker {vendor}")
        lines += [f"\t{device}  Part {device}" for owner, device in listed if owner == vendor]
    file = "\n".join(lines).encode()
    pair = data.draw(st.tuples(four_digits, four_digits))
    for vendor, device in [*listed, pair]:
        found = match_ids(file, vendor, device)
        assert found.vendor == (f"Maker {vendor}" if vendor in vendors else None)
        assert found.device == (f"Part {device}" if (vendor, device) in listed else None)


@given(st.one_of(st.none(), names), st.one_of(st.none(), names))
def test_answers_are_read_back(vendor: str | None, device: str | None) -> None:
    answer = Names(vendor=vendor, device=device)
    assert decode_names(encode_names(answer)) == answer


@pytest.mark.parametrize(
    ("raw", "offset"),
    [
        (b"", 0),
        (b'{"vendor": "\xff"}', 12),
        (b"[1]", 0),
        (b'{"vendor": 1}', 0),
        (b"{]", 1),
    ],
)
def test_what_is_no_answer_is_an_error_with_its_place(raw: bytes, offset: int) -> None:
    with pytest.raises(DecodeError) as caught:
        decode_names(raw)
    assert caught.value.offset == offset


@given(st.one_of(st.binary(), st.sampled_from([b"[" * 100_000, b'{"a":' * 100_000])))
def test_any_bytes_give_names_or_one_error(raw: bytes) -> None:
    try:
        decode_names(raw)
    except DecodeError:
        return


@given(st.sampled_from(["pci", "usb"]), four_digits, four_digits)
def test_a_question_is_understood(bus: str, vendor: str, device: str) -> None:
    question = names_question(bus, f"{vendor}:{device}")
    wanted = NamesQuestion(bus=bus, vendor=vendor, device=device)
    assert parse_names_question(question) == wanted


@pytest.mark.parametrize(
    "question", ["names pci 8086:27", "names scsi 8086:2723", "names pci 8086:2723 ", "battery"]
)
def test_other_questions_are_not(question: str) -> None:
    assert parse_names_question(question) is None


def test_a_number_too_long_for_python_is_one_error() -> None:
    with pytest.raises(DecodeError):
        decode_names(b'{"vendor": ' + b"9" * 5000 + b"}")
