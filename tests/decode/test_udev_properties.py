"""Properties out of udev's database."""

from hypothesis import given
from hypothesis import strategies as st

from closeout.decode.udev_properties import decode_udev_properties, find_property, unescape

DATABASE = rb"""S:disk/by-id/ata-Sample
L:0
W:12
I:1837402
E:ID_BUS=ata
E:ID_MODEL=Sample_Solid_State_Drive_512GB
E:ID_MODEL_ENC=Sample\x20Solid\x20State\x20Drive\x20512GB\x20\x20
E:ID_SERIAL_SHORT=SN0042
G:systemd
V:1
"""


def test_only_properties_are_kept() -> None:
    found = decode_udev_properties(DATABASE)
    assert sorted(found) == ["ID_BUS", "ID_MODEL", "ID_MODEL_ENC", "ID_SERIAL_SHORT"]


def test_the_escaped_form_gives_spaces_back() -> None:
    found = decode_udev_properties(DATABASE)
    assert find_property(found, "ID_MODEL") == "Sample Solid State Drive 512GB"
    assert find_property(found, "ID_SERIAL_SHORT") == "SN0042"
    assert find_property(found, "ID_REVISION") is None
    assert find_property({"ID_REVISION": "  "}, "ID_REVISION") is None


def test_escaped_bytes_are_put_together_before_they_are_read_as_utf_8() -> None:
    assert unescape(r"Gr\xc3\xb6\xc3\x9fe") == "Größe"
    assert unescape(r"\xff") == "ÿ"


@given(st.binary(max_size=40))
def test_escaping_every_byte_is_undone(raw: bytes) -> None:
    escaped = "".join(f"\\x{byte:02x}" for byte in raw)
    try:
        wanted = raw.decode("utf-8")
    except UnicodeDecodeError:
        wanted = raw.decode("latin-1")
    assert unescape(escaped) == wanted


@given(st.binary())
def test_any_bytes_give_properties(raw: bytes) -> None:
    find_property(decode_udev_properties(raw), "ID_MODEL")
    find_property(decode_udev_properties(b"E:ID_MODEL_ENC=" + raw), "ID_MODEL")
