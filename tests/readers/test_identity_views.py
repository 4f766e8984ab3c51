"""Both views of the identity side by side: drawn units, and ten machines against dmidecode."""

import errno
import uuid
from pathlib import Path

import pytest

from closeout.model.reading import Absent, Blank, Reading, Unreadable, Value
from oracles import dmidecode
from strategies import smbios
from strategies.drawn_identity import (
    DMI_ID,
    ENTRY_POINT,
    FILES,
    SOUND,
    TABLE,
    UUID,
    as_root,
    board_of,
    kernel_files,
    system_of,
    tables,
    views_of,
    without,
)
from strategies.drawn_tree import Content, DrawnTree
from strategies.shown import value_of


def test_views_that_agree_and_a_sound_table() -> None:
    views = views_of(as_root())
    assert isinstance(views.disagreements, Value)
    assert views.disagreements.value == ()
    assert views.table_faults == Value(value=(), sources=(TABLE,))


def test_blank_board() -> None:
    """No string, spaces, no UUID: blank in both views, and the views agree."""
    blank = (
        smbios.bios(vendor="Orlune Firmware"),
        smbios.system(manufacturer="Orlune", serial="          "),
        smbios.board(manufacturer="Orlune"),
        smbios.chassis(),
        smbios.end_of_table(),
    )
    texts = without(FILES, "product_uuid", "bios_release", "ec_firmware_release")
    texts = dict.fromkeys(texts, "") | {
        "bios_vendor": "Orlune Firmware",
        "sys_vendor": "Orlune",
        "board_vendor": "Orlune",
        "chassis_type": "10",
    }
    for files in (tables(*blank) | kernel_files(texts), kernel_files(texts)):
        tree = DrawnTree(files=files)
        system = system_of(tree)
        assert isinstance(system.serial, Blank)
        assert isinstance(system.product, Blank)
        assert isinstance(system.uuid, Blank)
        assert "all 00" in system.uuid.reason
        assert isinstance(board_of(tree).serial, Blank)
    tree = DrawnTree(files=tables(*blank) | kernel_files(texts))
    assert views_of(tree).disagreements == Value(value=(), sources=(TABLE, DMI_ID))


def test_swapped_uuid_is_named() -> None:
    swapped = str(uuid.UUID(bytes=UUID.bytes_le))
    files = tables(*SOUND) | kernel_files({**FILES, "product_uuid": swapped})
    views = views_of(DrawnTree(files=files))
    assert isinstance(views.disagreements, Value)
    assert views.disagreements.value == (
        f"system.uuid: byte order differs: table '{UUID}', kernel '{swapped}'",
    )


def test_every_disagreement_is_named() -> None:
    texts = {**FILES, "product_serial": "OTHER", "chassis_type": "9", "board_asset_tag": ""}
    files = tables(*SOUND) | kernel_files(without(texts, "product_uuid"))
    views = views_of(DrawnTree(files=files))
    assert isinstance(views.disagreements, Value)
    assert views.disagreements.value == (
        "system.serial: table 'ORV7K2M9Q4', kernel 'OTHER'",
        f"system.uuid: table '{UUID}', kernel blank",
        "board.asset_tag: table 'BT-4471', kernel blank",
        "chassis.chassis_type: table 'Notebook', kernel 'Laptop'",
    )


def test_unread_file_leaves_agreement_open() -> None:
    files = as_root().files
    tree = DrawnTree(files={**files, f"{DMI_ID}/board_serial": errno.EIO})
    disagreements = views_of(tree).disagreements
    assert isinstance(disagreements, Unreadable)
    assert disagreements.sources == (f"{DMI_ID}/board_serial",)


@pytest.mark.parametrize(
    ("entry_point", "fault"),
    [
        (errno.ENOENT, "entry point: ENOENT; the version of the table is not known"),
        (b"_SM3_", "entry point at byte 5: needs at least 24 bytes, got 5"),
    ],
)
def test_table_is_read_without_a_sound_entry_point(entry_point: Content, fault: str) -> None:
    tree = DrawnTree(files={**as_root().files, ENTRY_POINT: entry_point})
    assert value_of(system_of(tree).uuid) == str(UUID)
    assert views_of(tree).table_faults == Value(value=(fault,), sources=(TABLE,))


KERNEL_FILES = {
    (0, "Vendor"): "bios_vendor",
    (0, "Version"): "bios_version",
    (0, "Release Date"): "bios_date",
    (0, "BIOS Revision"): "bios_release",
    (0, "Firmware Revision"): "ec_firmware_release",
    (1, "Manufacturer"): "sys_vendor",
    (1, "Product Name"): "product_name",
    (1, "Version"): "product_version",
    (1, "Serial Number"): "product_serial",
    (1, "UUID"): "product_uuid",
    (1, "SKU Number"): "product_sku",
    (1, "Family"): "product_family",
    (2, "Manufacturer"): "board_vendor",
    (2, "Product Name"): "board_name",
    (2, "Version"): "board_version",
    (2, "Serial Number"): "board_serial",
    (2, "Asset Tag"): "board_asset_tag",
    (3, "Manufacturer"): "chassis_vendor",
    (3, "Version"): "chassis_version",
    (3, "Serial Number"): "chassis_serial",
    (3, "Asset Tag"): "chassis_asset_tag",
}
"""Where the kernel shows what dmidecode prints (drivers/firmware/dmi_scan.c)."""

DUMPS = (
    "desktop-2014",
    "desktop-no-brand",
    "dual-socket-server",
    "hypervisor-broken-end",
    "mini-pc-2023",
    "notebook-2013",
    "notebook-2014",
    "notebook-2020",
    "thin-notebook-2018",
    "workstation-notebook-2010",
)
FAULTS = {
    "hypervisor-broken-end": ("table at byte 479: length 0 is below 4; the rest cannot be read",),
    "mini-pc-2023": ("table at byte 4291: no end-of-table structure (type 127)",),
}


def kernel_texts(printed_text: str) -> dict[str, str]:
    """What the kernel would show of a machine, out of what dmidecode printed of it."""
    texts: dict[str, str] = {}
    for printed in dmidecode.parse_dmidecode(printed_text):
        for label, text in printed.texts.items():
            file = KERNEL_FILES.get((printed.type, label))
            if file and file not in texts and text not in {"Not Settable", "Not Present"}:
                shown = "" if text in {"Not Specified", "<BAD INDEX>"} else text
                texts[file] = shown if shown.strip(" ") else ""
    return texts


@pytest.mark.parametrize("name", DUMPS)
def test_ten_machines_tell_the_same_in_both_views(test_data: Path, name: str) -> None:
    raw = (test_data / "smbios" / f"{name}.dump").read_bytes()
    printed = (test_data / "smbios" / f"{name}.txt").read_text(encoding="latin-1")
    texts = kernel_texts(printed)
    tree = DrawnTree(files={TABLE: raw[0x20:], ENTRY_POINT: raw[:24], **kernel_files(texts)})
    views = views_of(tree)
    assert views.disagreements == Value(value=(), sources=(TABLE, DMI_ID))
    assert views.table_faults == Value(value=FAULTS.get(name, ()), sources=(TABLE,))
    changed = DrawnTree(files={**tree.files, f"{DMI_ID}/product_serial": b"changed\n"})
    assert isinstance(views_of(changed).disagreements, Value)
    assert views_of(changed).disagreements != views.disagreements
    alone = DrawnTree(files=kernel_files(texts))
    for attribute in ("manufacturer", "product", "version", "serial", "uuid", "family"):
        from_table = getattr(system_of(tree), attribute)
        from_kernel = getattr(system_of(alone), attribute)
        assert _plain(from_table) == _plain(from_kernel), attribute


def _plain(reading: Reading[str]) -> tuple[str, str]:
    text = reading.value if isinstance(reading, Value) else ""
    return type(reading).__name__, text


def test_folder_that_cannot_be_listed_leaves_agreement_open() -> None:
    tree = DrawnTree(files={**tables(*SOUND), DMI_ID: errno.EIO})
    disagreements = views_of(tree).disagreements
    assert isinstance(disagreements, Unreadable)
    assert disagreements.error == "EIO"


def test_views_without_a_field_in_both_agree_on_nothing() -> None:
    tree = DrawnTree(files={**tables(SOUND[-1]), f"{DMI_ID}/uevent": b"MODALIAS=dmi:\n"})
    assert isinstance(views_of(tree).disagreements, Absent)
