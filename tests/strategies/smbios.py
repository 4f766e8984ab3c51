"""SMBIOS tables built byte by byte, for tests and invented units (DMTF DSP0134).

A table is made of structures, a dump of an entry point and a table:

    table = build_table([bios(...), system(...), end_of_table(handle=9)])
    entry = build_entry_point(version=(3, 3), table_length=len(table), table_offset=0x20)
"""

import struct
from collections.abc import Iterable, Sequence
from typing import TypeAlias

from hypothesis import strategies as st

Text: TypeAlias = str | bytes | None
"""A string for a structure; None leaves the index at zero."""

NOT_SET_UUID = bytes(16)


def build_structure(
    type_number: int, handle: int, formatted: bytes, strings: Sequence[bytes] = ()
) -> bytes:
    """One structure; `formatted` is what follows the four bytes of the header (6.1.2, 6.1.3)."""
    header = struct.pack("<BBH", type_number, 4 + len(formatted), handle)
    area = b"".join(text + b"\0" for text in strings) or b"\0"
    return header + formatted + area + b"\0"


def build_table(structures: Iterable[bytes]) -> bytes:
    """The structures one after the other, as the kernel's `DMI` file holds them."""
    return b"".join(structures)


def build_entry_point(
    version: tuple[int, int], table_length: int, table_offset: int, revision: int = 0
) -> bytes:
    """A 24-byte `_SM3_` entry point with its checksum (5.2.2)."""
    raw = struct.pack(
        "<5sBBBBBBBIQ", b"_SM3_", 0, 0x18, *version, revision, 1, 0, table_length, table_offset
    )
    return with_checksum(raw, 5)


def build_entry_point_32(
    version: tuple[int, int], table_length: int, table_offset: int, count: int, length: int = 0x1F
) -> bytes:
    """A 31-byte `_SM_` entry point with both checksums (5.2.1)."""
    intermediate = struct.pack(
        "<5sBHIHB", b"_DMI_", 0, table_length, table_offset, count, version[0] << 4 | version[1]
    )
    head = struct.pack("<4sBBBBHB5x", b"_SM_", 0, length, *version, 0x40, 0)
    raw = head + with_checksum(intermediate, 5)
    return with_checksum(raw, 4, covered=length)


def build_dump(version: tuple[int, int], table: bytes) -> bytes:
    """A file as dmidecode writes it: `_SM3_` entry point, padding, the table at 20h."""
    return build_entry_point(version, len(table), 0x20).ljust(0x20, b"\0") + table


def with_checksum(raw: bytes, offset: int, covered: int | None = None) -> bytes:
    """The bytes with the one at `offset` chosen so that the covered ones sum to zero."""
    cleared = raw[:offset] + b"\0" + raw[offset + 1 :]
    checksum = -sum(cleared[:covered]) % 256
    return raw[:offset] + bytes([checksum]) + raw[offset + 1 :]


class Strings:
    """Numbers texts from one as they come; None is number zero."""

    def __init__(self) -> None:
        self.texts: list[bytes] = []

    def number(self, text: Text) -> int:
        """The number under which a structure names this text."""
        if text is None:
            return 0
        self.texts.append(text.encode() if isinstance(text, str) else text)
        return len(self.texts)


def bios(  # noqa: PLR0913 - one argument a field
    *,
    handle: int = 0,
    vendor: Text = None,
    version: Text = None,
    date: Text = None,
    segment: int = 0,
    rom_size: int = 0xFF,
    characteristics: int = 0,
    extensions: tuple[int, int] = (0x03, 0x08),
    release: tuple[int, int] = (0xFF, 0xFF),
    ec_release: tuple[int, int] = (0xFF, 0xFF),
    extended_rom_size: int = 32,
) -> bytes:
    """Type 0 (7.1) of 26 bytes; UEFI is said to be supported unless told otherwise."""
    strings = Strings()
    formatted = struct.pack(
        "<BBHBBQBBBBBBH",
        strings.number(vendor),
        strings.number(version),
        segment,
        strings.number(date),
        rom_size,
        characteristics,
        *extensions,
        *release,
        *ec_release,
        extended_rom_size,
    )
    return build_structure(0, handle, formatted, strings.texts)


def system(  # noqa: PLR0913 - one argument a field
    *,
    handle: int = 1,
    manufacturer: Text = None,
    product: Text = None,
    version: Text = None,
    serial: Text = None,
    uuid: bytes = NOT_SET_UUID,
    wake_up: int = 6,
    sku: Text = None,
    family: Text = None,
) -> bytes:
    """Type 1 (7.2) of 27 bytes; `uuid` are the 16 bytes as they lie in the table."""
    strings = Strings()
    names = bytes(strings.number(text) for text in (manufacturer, product, version, serial))
    tail = bytes([wake_up, strings.number(sku), strings.number(family)])
    return build_structure(1, handle, names + uuid + tail, strings.texts)


def board(  # noqa: PLR0913 - one argument a field
    *,
    handle: int = 2,
    manufacturer: Text = None,
    product: Text = None,
    version: Text = None,
    serial: Text = None,
    asset_tag: Text = None,
    features: int = 0x09,
    location: Text = None,
    chassis_handle: int = 3,
    board_type: int = 0x0A,
    contained: Sequence[int] = (),
) -> bytes:
    """Type 2 (7.3); a hosting, replaceable motherboard unless told otherwise."""
    strings = Strings()
    texts = (manufacturer, product, version, serial, asset_tag)
    names = bytes(strings.number(text) for text in texts)
    tail = struct.pack(
        "<BBHBB",
        features,
        strings.number(location),
        chassis_handle,
        board_type,
        len(contained),
    )
    handles = b"".join(struct.pack("<H", number) for number in contained)
    return build_structure(2, handle, names + tail + handles, strings.texts)


def chassis(  # noqa: PLR0913 - one argument a field
    *,
    handle: int = 3,
    manufacturer: Text = None,
    chassis_type: int = 0x0A,
    version: Text = None,
    serial: Text = None,
    asset_tag: Text = None,
    states: tuple[int, int, int, int] = (3, 3, 3, 3),
    oem_defined: int = 0,
    height: int = 0,
    power_cords: int = 1,
    elements: Sequence[tuple[int, int, int]] = (),
    sku: Text = None,
) -> bytes:
    """Type 3 (7.4); a notebook in safe states unless told otherwise.

    `states` are boot-up, power supply, thermal and security.
    """
    strings = Strings()
    head = bytes([strings.number(manufacturer), chassis_type])
    names = bytes(strings.number(text) for text in (version, serial, asset_tag))
    tail = struct.pack("<IBBBB", oem_defined, height, power_cords, len(elements), 3)
    contained = b"".join(bytes(element) for element in elements)
    formatted = head + names + bytes(states) + tail + contained + bytes([strings.number(sku)])
    return build_structure(3, handle, formatted, strings.texts)


def oem_strings(texts: Sequence[bytes], *, handle: int = 11, count: int | None = None) -> bytes:
    """Type 11 (7.12); `count` may announce another number than there are."""
    announced = len(texts) if count is None else count
    return build_structure(11, handle, bytes([announced]), texts)


def memory_array(
    *, handle: int = 16, devices: int = 2, capacity_kib: int = 64 << 20, extended_bytes: int = 0
) -> bytes:
    """Type 16 (7.17): system memory on the system board, no error correction."""
    formatted = struct.pack("<BBBIHHQ", 3, 3, 3, capacity_kib, 0xFFFE, devices, extended_bytes)
    return build_structure(16, handle, formatted)


def memory_device(  # noqa: PLR0913 - one argument a field
    *,
    handle: int = 17,
    array_handle: int = 16,
    widths: tuple[int, int] = (64, 64),
    size: int = 0x2000,
    extended_size: int = 0,
    form_factor: int = 0x0D,
    locator: Text = None,
    bank_locator: Text = None,
    memory_type: int = 0x1A,
    detail: int = 0x0080,
    speed: int = 3200,
    configured_speed: int = 3200,
    extended_speeds: tuple[int, int] = (0, 0),
    manufacturer: Text = None,
    serial: Text = None,
    asset_tag: Text = None,
    part_number: Text = None,
    attributes: int = 1,
    millivolts: tuple[int, int, int] = (1200, 1200, 1200),
) -> bytes:
    """Type 17 (7.18) of 92 bytes; `size` is the word at 0Ch, `extended_size` the dword at 1Ch."""
    strings = Strings()
    formatted = struct.pack(
        "<HHHHHBBBBBHHBBBBBIHHHHBHBHHHHQQQQII",
        array_handle,
        0xFFFE,
        *widths,
        size,
        form_factor,
        0,
        strings.number(locator),
        strings.number(bank_locator),
        memory_type,
        detail,
        speed,
        strings.number(manufacturer),
        strings.number(serial),
        strings.number(asset_tag),
        strings.number(part_number),
        attributes,
        extended_size,
        configured_speed,
        *millivolts,
        3,
        0x0008,
        0,
        0,
        0,
        0,
        0,
        0,
        (1 << 64) - 1,
        0,
        0,
        *extended_speeds,
    )
    return build_structure(17, handle, formatted, strings.texts)


def hardware_security(settings: int, *, handle: int = 24) -> bytes:
    """Type 24 (7.25); two bits each for power-on, keyboard, administrator, front panel reset."""
    return build_structure(24, handle, bytes([settings]))


def end_of_table(*, handle: int = 127) -> bytes:
    """Type 127, which ends every table."""
    return build_structure(127, handle, b"")


TEXTS = st.none() | st.binary(min_size=1, max_size=12).map(lambda raw: raw.replace(b"\0", b" "))
"""A string of a structure: any bytes but NUL, or none."""
BYTES = st.integers(0, 0xFF)
WORDS = st.integers(0, 0xFFFF)
DWORDS = st.integers(0, 0xFFFF_FFFF)

ANY_STRUCTURE = st.builds(
    build_structure,
    st.integers(0, 126),
    WORDS,
    st.binary(max_size=100),
    st.lists(TEXTS.filter(bool), max_size=6),
)
"""A well-formed structure of any type with any content."""

TABLES = st.lists(ANY_STRUCTURE, max_size=8).map(
    lambda structures: build_table([*structures, end_of_table()])
)
