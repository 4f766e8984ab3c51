"""The list of an update: what is written is read, and nothing else is."""

import hashlib

import pytest
from hypothesis import given
from hypothesis import strategies as st

from closeout.decode.failure import DecodeError
from closeout.decode.update_list import decode_update_list, make_update_list

NAMES = st.from_regex(r"[a-z]{1,6}(/[a-z]{1,6}){0,2}\.(py|toml)", fullmatch=True)
FILES = st.dictionaries(NAMES, st.binary(max_size=20), max_size=6)


@given(FILES)
def test_what_is_written_is_read(files: dict[str, bytes]) -> None:
    assert sorted(decode_update_list(make_update_list(files)).digests) == sorted(files)


@given(FILES, st.data())
def test_every_cut_and_every_changed_byte_is_noticed(
    files: dict[str, bytes], data: st.DataObject
) -> None:
    raw = bytearray(make_update_list(files))
    with pytest.raises(DecodeError):
        decode_update_list(bytes(raw[: data.draw(st.integers(0, len(raw) - 1))]))
    raw[data.draw(st.integers(0, len(raw) - 1))] ^= data.draw(st.integers(1, 255))
    with pytest.raises(DecodeError):
        decode_update_list(bytes(raw))


@pytest.mark.parametrize("name", ["../a", "/a", "a/../b", "a//b", ".a", "a b", "a\nb", "ä"])
def test_a_name_that_leads_elsewhere_is_refused(name: str) -> None:
    try:
        raw = make_update_list({name: b""})
    except UnicodeEncodeError:
        return
    with pytest.raises(DecodeError, match="the lines are not"):
        decode_update_list(raw)


def test_two_files_of_one_name_are_refused() -> None:
    with pytest.raises(DecodeError, match="two files of one name"):
        decode_update_list(make_update_list({"a.py": b"", "A.py": b""}))


@given(st.binary(max_size=300))
def test_any_bytes_give_an_object_or_one_error(raw: bytes) -> None:
    with pytest.raises(DecodeError):
        decode_update_list(raw)


@pytest.mark.parametrize("listed", [b"", b"\xff\xfe\n"])
def test_what_is_no_text_is_refused(listed: bytes) -> None:
    """Under a last line that fits it."""
    digest = hashlib.sha256(listed).hexdigest()
    with pytest.raises(DecodeError, match="no lines of a list"):
        decode_update_list(listed + f"# end sha256:{digest}\n".encode())
