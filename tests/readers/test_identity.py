"""Identity out of drawn units: as root and as a user, blank, filler, damaged, any answer."""

import errno
import uuid
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from closeout.model.identity import OemStrings
from closeout.model.reading import Absent, Blank, Filler, Unreadable, Value
from closeout.readers.identity import READERS
from strategies import smbios
from strategies.drawn_identity import (
    DMI_ID,
    FILES,
    SECRETS,
    SOUND,
    TABLE,
    UUID,
    as_root,
    as_user,
    bios_of,
    board_of,
    chassis_of,
    kernel_files,
    read_section,
    system_of,
    tables,
    views_of,
)
from strategies.drawn_tree import Content, DrawnTree
from strategies.shown import value_of


def test_kinds() -> None:
    assert [reader.kind for reader in READERS] == [
        "system",
        "board",
        "chassis",
        "bios",
        "oem_strings",
        "identity_views",
    ]


def test_root_reads_the_raw_table() -> None:
    system = system_of(as_root())
    assert system.place == "dmi:system"
    assert system.serial == Value(value="ORV7K2M9Q4", sources=(f"{TABLE}#1.0",))
    assert value_of(system.manufacturer) == "Orlune"
    assert value_of(system.product) == "Vekta 14"
    assert value_of(system.uuid) == str(UUID)
    assert value_of(system.sku) == "VK14-5518"
    assert value_of(system.family) == "Vekta"
    assert value_of(system.wake_up) == "Power Switch"


def test_board_chassis_and_firmware_of_the_raw_table() -> None:
    tree = as_root()
    board, chassis, bios = board_of(tree), chassis_of(tree), bios_of(tree)
    assert value_of(board.serial) == "OB83LQ57XW"
    assert value_of(board.location) == "Under keyboard"
    assert value_of(board.board_type) == "Motherboard"
    assert value_of(chassis.chassis_type) == "Notebook"
    assert value_of(chassis.sku) == "CS-14"
    assert value_of(chassis.thermal_state) == "Safe"
    assert value_of(bios.version) == "VK14.07"
    assert value_of(bios.ec_release) == "2.30"
    assert bios.rom_size_bytes == Value(value=32 << 20, sources=(f"{TABLE}#0.0",))
    assert bios.uefi_capable == Value(value=True, sources=(f"{TABLE}#0.0",))


def test_makers_strings_are_trimmed_and_spaces_left_out() -> None:
    device = read_section(as_root(), "oem_strings").devices[0]
    assert isinstance(device, OemStrings)
    assert device.strings == Value(value=("Orlune build 7", "line 4"), sources=(f"{TABLE}#11.0",))


def test_makers_strings_of_spaces_alone_are_blank() -> None:
    tree = DrawnTree(files=tables(smbios.oem_strings([b"  "]), SOUND[-1]))
    device = read_section(tree, "oem_strings").devices[0]
    assert isinstance(device, OemStrings)
    assert isinstance(device.strings, Blank)


def test_user_reads_what_is_open_and_is_told_to_run_as_root() -> None:
    tree = as_user()
    system = system_of(tree)
    assert system.product == Value(value="Vekta 14", sources=(f"{DMI_ID}/product_name",))
    for reading in (system.serial, system.uuid, board_of(tree).serial, chassis_of(tree).serial):
        assert isinstance(reading, Unreadable)
        assert (reading.error, reading.advice) == ("EACCES", "run as root")
    assert value_of(chassis_of(tree).chassis_type) == "Notebook"


def test_user_cannot_read_what_only_the_raw_table_has() -> None:
    tree = as_user()
    for reading in (
        system_of(tree).wake_up,
        bios_of(tree).rom_size_bytes,
        chassis_of(tree).sku,
        read_section(tree, "oem_strings").listing,
        views_of(tree).disagreements,
        views_of(tree).table_faults,
    ):
        assert isinstance(reading, Unreadable)
        assert (reading.error, reading.advice) == ("EACCES", "run as root")


def test_only_the_raw_table() -> None:
    tree = DrawnTree(files=tables(*SOUND))
    assert system_of(tree) == system_of(as_root())
    assert isinstance(views_of(tree).disagreements, Absent)


def test_only_the_kernels_files() -> None:
    tree = DrawnTree(files=kernel_files(FILES))
    system = system_of(tree)
    assert value_of(system.serial) == "ORV7K2M9Q4"
    assert isinstance(system.wake_up, Absent)
    assert isinstance(views_of(tree).disagreements, Absent)
    assert isinstance(views_of(tree).table_faults, Absent)


@pytest.mark.parametrize("kind", [reader.kind for reader in READERS])
def test_no_smbios_at_all_is_no_blank_device(kind: str) -> None:
    section = read_section(DrawnTree(files={"proc/meminfo": b""}), kind)
    assert isinstance(section.listing, Absent)
    assert section.devices == ()


@pytest.mark.parametrize("kind", [reader.kind for reader in READERS])
@pytest.mark.parametrize("closed", [(TABLE,), (DMI_ID,), (TABLE, DMI_ID)])
def test_both_views_gone_and_one_of_them_closed_is_unreadable(
    kind: str, closed: tuple[str, ...]
) -> None:
    section = read_section(DrawnTree(files=dict.fromkeys(closed, errno.EACCES)), kind)
    expected = Absent if kind == "oem_strings" and TABLE not in closed else Unreadable
    assert isinstance(section.listing, expected)
    assert section.devices == ()


@pytest.mark.parametrize("raw", [bytes(16), b"\xff" * 16])
def test_unset_uuid_is_blank(raw: bytes) -> None:
    tree = DrawnTree(files=tables(smbios.system(uuid=raw), smbios.end_of_table()))
    assert isinstance(system_of(tree).uuid, Blank)


def test_missing_uuid_file_without_siblings_is_absent() -> None:
    tree = DrawnTree(files=kernel_files({"product_family": "Vekta"}))
    assert isinstance(system_of(tree).uuid, Absent)


def test_filler_board() -> None:
    filler = (
        smbios.system(
            manufacturer="To Be Filled By O.E.M.",
            serial="System Serial Number",
            uuid=uuid.UUID("03000200-0400-0500-0006-000700080009").bytes_le,
        ),
        smbios.board(serial="Default string  ", asset_tag="0123456789"),
        smbios.end_of_table(),
    )
    tree = DrawnTree(files=tables(*filler))
    system, board = system_of(tree), board_of(tree)
    readings = (
        system.manufacturer,
        system.serial,
        system.uuid,
        board.serial,
        board.asset_tag,
    )
    assert all(isinstance(reading, Filler) for reading in readings)
    assert isinstance(board.serial, Filler)
    assert board.serial.text == "Default string"


def test_structure_too_short_is_absent_and_bad_index_is_blank() -> None:
    short = smbios.build_structure(1, 1, b"\x01\x00\x05\x00", [b"Orlune"])
    tree = DrawnTree(files=tables(short, smbios.end_of_table()))
    system = system_of(tree)
    assert value_of(system.manufacturer) == "Orlune"
    assert isinstance(system.uuid, Absent)
    assert "too short" in system.uuid.reason
    assert isinstance(system.version, Blank)
    assert "index 5 is out of range" in system.version.reason


def test_uuid_order_follows_the_version_of_the_table() -> None:
    old = DrawnTree(files=tables(*SOUND, version=(2, 5)))
    assert value_of(system_of(old).uuid) == str(uuid.UUID(bytes=UUID.bytes_le))


def test_every_chassis_is_a_device_and_the_kernel_stands_for_the_first() -> None:
    dock = smbios.chassis(manufacturer="Dockline", chassis_type=0x0C, serial="DK55")
    tree = DrawnTree(files=tables(*SOUND[:-1], dock, SOUND[-1]) | kernel_files(FILES))
    assert value_of(chassis_of(tree, 0).chassis_type) == "Notebook"
    assert chassis_of(tree, 1).place == "dmi:chassis.1"
    assert value_of(chassis_of(tree, 1).chassis_type) == "Docking Station"
    assert isinstance(views_of(tree).disagreements, Value)


def test_board_is_the_hosting_one() -> None:
    daughter = smbios.board(serial="DAUGHTER1", features=0x08, board_type=9)
    tree = DrawnTree(files=tables(daughter, *SOUND) | kernel_files(FILES))
    assert board_of(tree).serial == Value(value="OB83LQ57XW", sources=(f"{TABLE}#2.1",))


def test_table_that_breaks_off_falls_back_to_the_kernel() -> None:
    files = tables(SOUND[0], b"\x01\x00\x00\x00") | kernel_files(FILES)
    tree = DrawnTree(files=files)
    assert value_of(system_of(tree).serial) == "ORV7K2M9Q4"
    faults = views_of(tree).table_faults
    assert isinstance(faults, Value)
    assert "length 0 is below 4" in faults.value[0]


def test_table_that_breaks_off_without_the_kernel_is_unreadable() -> None:
    tree = DrawnTree(files=tables(SOUND[0], b"\x01\x00\x00\x00"))
    for kind in ("system", "board", "chassis", "oem_strings"):
        listing = read_section(tree, kind).listing
        assert isinstance(listing, Unreadable)
        assert "breaks off" in listing.advice
    assert value_of(bios_of(tree).vendor) == "Orlune Firmware"


def test_nothing_is_taken_from_a_table_that_is_cut() -> None:
    """Not even what stands before the cut; the kernel has read it whole at the start."""
    table = smbios.build_table(SOUND[1:2])
    tree = DrawnTree(files={TABLE: table[: table.index(b"ORV7")]})
    listing = read_section(tree, "system").listing
    assert isinstance(listing, Unreadable)
    assert "ends inside the strings" in listing.advice
    both = replace(tree, files={**tree.files, **kernel_files(FILES)})
    assert value_of(system_of(both).serial) == "ORV7K2M9Q4"
    assert isinstance(system_of(both).wake_up, Unreadable)


@pytest.mark.parametrize("raw", [b"", b"\0", b"\0\0\0\0"])
def test_table_without_a_structure_is_unreadable(raw: bytes) -> None:
    listing = read_section(DrawnTree(files={TABLE: raw}), "system").listing
    assert isinstance(listing, Unreadable)
    assert listing.error == "MALFORMED"


def test_whole_table_without_the_structure_lists_none() -> None:
    tree = DrawnTree(files=tables(SOUND[0], SOUND[-1]))
    assert read_section(tree, "chassis").listing == Value(value=(), sources=(TABLE,))


CONTENTS = st.one_of(
    st.binary(max_size=200), smbios.TABLES, st.sampled_from([errno.EACCES, errno.EIO])
)


@given(
    st.dictionaries(st.sampled_from([*SECRETS, "chassis_type", "sys_vendor"]), CONTENTS), CONTENTS
)
def test_no_answer_makes_a_reader_raise(files: dict[str, Content], table: Content) -> None:
    drawn = {f"{DMI_ID}/{name}": content for name, content in files.items()}
    tree = DrawnTree(files={**drawn, TABLE: table})
    for reader in READERS:
        for device in read_section(tree, reader.kind).devices:
            assert device.label
