"""How the unit was started, and the licence table, on drawn machines."""

import errno

import pytest
from hypothesis import given
from hypothesis import strategies as st

from closeout.decode.licence_statement import state_licence
from closeout.model.device import Position
from closeout.model.firmware import FirmwareState, LicenceTable
from closeout.model.reading import Absent, Blank, Reading, Unreadable, Value
from closeout.readers.firmware import READERS
from strategies.drawn_tree import Content, DrawnTree
from strategies.msdm import MsdmPlan, build_msdm, faulty_plans

FIRMWARE, LICENCE = READERS
EFIVARS = "sys/firmware/efi/efivars"
GLOBAL = "8be4df61-93ca-11d2-aa0d-00e098032b8c"
SECURE_BOOT = f"{EFIVARS}/SecureBoot-{GLOBAL}"
SETUP_MODE = f"{EFIVARS}/SetupMode-{GLOBAL}"
ON, OFF = bytes.fromhex("0600000001"), bytes.fromhex("0600000000")
TABLES = "sys/firmware/acpi/tables"
MSDM = f"{TABLES}/MSDM"
LISTED = Value(value=True, sources=(TABLES,))
KEY = b"BCDFG-HJKMP-QRTVW-XY234-6789N"


def read_state(tree: DrawnTree) -> FirmwareState:
    listing = FIRMWARE.find(tree)
    assert isinstance(listing, Value)
    (place,) = listing.value
    found = FIRMWARE.read(tree, place)
    assert isinstance(found, FirmwareState)
    return found


@pytest.mark.parametrize(("secure", "setup"), [(ON, OFF), (OFF, ON), (OFF, OFF)])
def test_started_by_uefi(secure: bytes, setup: bytes) -> None:
    state = read_state(DrawnTree(files={SECURE_BOOT: secure, SETUP_MODE: setup}))
    assert state == FirmwareState(
        place="sys/firmware",
        label="firmware",
        position=Position.INTERNAL,
        boot_mode=Value(value="uefi", sources=("sys/firmware",)),
        secure_boot=Value(value=secure == ON, sources=(SECURE_BOOT,)),
        setup_mode=Value(value=setup == ON, sources=(SETUP_MODE,)),
    )


def test_started_in_legacy_mode() -> None:
    tree = DrawnTree(
        files={"sys/firmware/memmap/0/start": b"0x0\n", f"{TABLES}/DSDT": b""},
    )
    state = read_state(tree)
    assert state.boot_mode == Value(value="legacy", sources=("sys/firmware",))
    absent = Absent(reason="started in legacy mode", sources=("sys/firmware",))
    assert (state.secure_boot, state.setup_mode) == (absent, absent)


def test_a_folder_of_chosen_tables_does_not_tell_the_mode() -> None:
    tree = DrawnTree(files={"sys/firmware/dmi/tables/DMI": b"", MSDM: b""})
    state = read_state(tree)
    assert isinstance(state.boot_mode, Absent)
    assert isinstance(state.secure_boot, Absent)


def test_a_root_without_firmware_has_no_listing() -> None:
    assert isinstance(FIRMWARE.find(DrawnTree()), Absent)
    hidden = DrawnTree(files={"sys/firmware": errno.EACCES})
    assert isinstance(FIRMWARE.find(hidden), Unreadable)
    state = FIRMWARE.read(hidden, "sys/firmware")
    assert isinstance(state, FirmwareState)
    assert isinstance(state.boot_mode, Unreadable)
    assert isinstance(state.secure_boot, Unreadable)


@pytest.mark.parametrize("folders", [("sys/firmware/efi",), (EFIVARS,)])
def test_efivarfs_not_mounted(folders: tuple[str, ...]) -> None:
    secure = read_state(DrawnTree(folders=folders)).secure_boot
    assert isinstance(secure, Unreadable)
    assert secure.advice == "mount efivarfs and read again"


def test_a_variable_that_the_firmware_lacks() -> None:
    state = read_state(DrawnTree(files={SECURE_BOOT: OFF}))
    assert state.secure_boot == Value(value=False, sources=(SECURE_BOOT,))
    assert isinstance(state.setup_mode, Absent)
    assert state.setup_mode.reason == "the firmware has no such variable"


@pytest.mark.parametrize(
    ("files", "error"),
    [
        ({SECURE_BOOT: errno.EACCES}, "EACCES"),
        ({SECURE_BOOT: errno.EIO}, "EIO"),
        ({SECURE_BOOT: b"\x06\0\0"}, "MALFORMED"),
        ({SECURE_BOOT: b"\x06\0\0\0\x02"}, "MALFORMED"),
        ({EFIVARS: errno.EACCES}, "EACCES"),
    ],
)
def test_a_variable_that_cannot_be_read(files: dict[str, Content], error: str) -> None:
    secure = read_state(DrawnTree(files=files)).secure_boot
    assert isinstance(secure, Unreadable)
    assert secure.error == error


def licensed(table: bytes | None, *others: str) -> DrawnTree:
    def last_five(key: bytes) -> str:
        return key[-5:].decode("ascii")

    files: dict[str, Content] = {f"{TABLES}/{name}": b"" for name in ("DSDT", *others)}
    if table is not None:
        files[MSDM] = state_licence(table, last_five)
    return DrawnTree(files=files)


def read_table(tree: DrawnTree) -> LicenceTable:
    listing = LICENCE.find(tree)
    assert isinstance(listing, Value)
    (place,) = listing.value
    found = LICENCE.read(tree, place)
    assert isinstance(found, LicenceTable)
    return found


def told(value: object) -> Value[object]:
    return Value(value=value, sources=(MSDM,))


def test_a_sound_licence_table() -> None:
    table = read_table(licensed(build_msdm(MsdmPlan(key=KEY))))
    assert table == LicenceTable(
        place=MSDM,
        label="MSDM",
        position=Position.INTERNAL,
        present=LISTED,
        well_formed=told(value=True),
        checksum_good=told(value=True),
        key_format=told("well-formed"),
        key_token=told("6789N"),
    )


def test_no_licence_table() -> None:
    table = read_table(licensed(None))
    assert table.place == MSDM
    assert table.present == Value(value=False, sources=(TABLES,))
    readings: tuple[Reading[object], ...] = (
        table.well_formed,
        table.checksum_good,
        table.key_format,
        table.key_token,
    )
    assert all(isinstance(reading, Absent) for reading in readings)


def test_tables_that_cannot_be_listed_say_nothing_of_a_licence() -> None:
    assert isinstance(LICENCE.find(DrawnTree()), Absent)
    assert isinstance(LICENCE.find(DrawnTree(folders=(TABLES,))), Absent)
    assert isinstance(LICENCE.find(DrawnTree(files={TABLES: errno.EACCES})), Unreadable)


def test_a_table_that_only_root_may_read_is_there_and_unreadable() -> None:
    table = read_table(DrawnTree(files={MSDM: errno.EACCES}))
    assert table.present == Value(value=True, sources=(TABLES,))
    assert isinstance(table.key_format, Unreadable)
    assert table.key_format.advice == "run as root"
    assert isinstance(table.well_formed, Unreadable)
    assert isinstance(table.key_token, Unreadable)


def test_presence_is_unknown_where_neither_table_nor_listing_can_be_read() -> None:
    tree = DrawnTree(files={TABLES: errno.EACCES, MSDM: errno.EACCES})
    table = LICENCE.read(tree, MSDM)
    assert isinstance(table, LicenceTable)
    assert isinstance(table.present, Unreadable)


@pytest.mark.parametrize(
    ("plan", "well_formed", "checksum_good", "key_format", "token"),
    [
        (MsdmPlan(checksum=0), True, False, "well-formed", Value),
        (MsdmPlan(version=2), False, True, "well-formed", Value),
        (MsdmPlan(key=b"\0" * 29), True, True, "blank: all 00", Blank),
        (MsdmPlan(key=b"\xff" * 29), True, True, "blank: all FF", Blank),
        (MsdmPlan(key=b" " * 29), True, True, "blank: spaces", Blank),
        (MsdmPlan(key=b""), False, True, "no room for a key", Blank),
        (MsdmPlan(key=b"\xff" * 25 + b"\0" * 4), True, True, "FF then zero", Absent),
        (
            MsdmPlan(key=b"ABCDE-FGHIJ-KLMNO-PQRST-UVWXY"),
            True,
            True,
            "letters outside the alphabet",
            Absent,
        ),
    ],
)
def test_what_is_wrong_with_a_table(
    plan: MsdmPlan,
    *,
    well_formed: bool,
    checksum_good: bool,
    key_format: str,
    token: type,
) -> None:
    table = read_table(licensed(build_msdm(plan)))
    assert table.present == LISTED
    assert table.well_formed == told(well_formed)
    assert table.checksum_good == told(checksum_good)
    assert table.key_format == told(key_format)
    assert isinstance(table.key_token, token)


def test_bytes_that_are_no_table() -> None:
    table = read_table(licensed(b"MSDM"))
    assert table.present == LISTED
    assert table.well_formed == told(value=False)
    for reading in (table.checksum_good, table.key_format, table.key_token):
        assert isinstance(reading, Unreadable)
        assert reading.error == "MALFORMED"


def test_a_table_that_no_recorder_replaced_is_refused_and_not_quoted() -> None:
    table = read_table(DrawnTree(files={MSDM: build_msdm(MsdmPlan(key=KEY))}))
    assert table.present == LISTED
    assert isinstance(table.well_formed, Unreadable)
    assert all(group not in repr(table) for group in KEY.decode().split("-"))


def test_two_tables_are_two() -> None:
    tree = licensed(None, "MSDM1", "MSDM2", "MSDMX", "SSDT1")
    listing = LICENCE.find(tree)
    assert isinstance(listing, Value)
    assert listing.value == (f"{TABLES}/MSDM1", f"{TABLES}/MSDM2")


@given(st.one_of(st.binary(max_size=120), st.builds(build_msdm, faulty_plans())))
def test_any_table_is_read_without_an_error(raw: bytes) -> None:
    assert read_table(licensed(raw)).present == LISTED


@given(st.binary(max_size=200))
def test_any_statement_is_read_without_an_error(raw: bytes) -> None:
    table = read_table(DrawnTree(files={MSDM: raw, SECURE_BOOT: raw}))
    assert isinstance(table.well_formed, Unreadable)
    assert isinstance(
        read_state(DrawnTree(files={SECURE_BOOT: raw})).secure_boot, Unreadable | Value
    )
