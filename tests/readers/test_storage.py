"""Drives as the kernel shows them; names and serials are invented."""

import errno

import pytest

from closeout.model.device import Position
from closeout.model.reading import Absent, Blank, Filler, Unreadable, Value
from closeout.readers.storage import find_drives, read_drive
from strategies.drawn_tree import Content, DrawnTree
from strategies.shown import values_of
from strategies.vital_product_pages import ata_information_page, unit_serial_page

CARD = "sys/devices/pci0000:00/0000:00:1d.0/0000:03:00.0"
NVME = f"{CARD}/nvme/nvme0"
SCSI = "sys/devices/pci0000:00/0000:00:17.0/ata1/host0/target0:0:0/0:0:0:0"
STICK_PORT = "sys/devices/pci0000:00/0000:00:14.0/usb2/2-1"
STICK = f"{STICK_PORT}/2-1:1.0/host3/target3:0:0/3:0:0:0"

NVME_FILES: dict[str, Content] = {
    f"{NVME}/model": b"Norvik N9 Drive 512GB                   \n",
    f"{NVME}/serial": b"NK20A7719F          \n",
    f"{NVME}/firmware_rev": b"3B2Q    \n",
    f"{NVME}/state": b"live\n",
    f"{NVME}/nvme0n1/size": b"1000215216\n",
    f"{NVME}/nvme0n1/removable": b"0\n",
    f"{NVME}/nvme0n1/queue/rotational": b"0\n",
}
NVME_LINKS = {
    "sys/class/nvme/nvme0": NVME,
    "sys/block/nvme0n1": f"{NVME}/nvme0n1",
    f"{NVME}/device": CARD,
    f"{NVME}/nvme0n1/device": NVME,
}
SATA_FILES: dict[str, Content] = {
    f"{SCSI}/vendor": b"ATA     \n",
    f"{SCSI}/model": b"Norvik S4 Platte\n",
    f"{SCSI}/rev": b"0B6Q\n",
    f"{SCSI}/state": b"running\n",
    f"{SCSI}/vpd_pg80": unit_serial_page(b"      SK440718A92F"),
    f"{SCSI}/block/sda/dev": b"8:0\n",
    f"{SCSI}/block/sda/size": b"976773168\n",
    f"{SCSI}/block/sda/removable": b"0\n",
    f"{SCSI}/block/sda/queue/rotational": b"1\n",
}
SATA_LINKS = {"sys/block/sda": f"{SCSI}/block/sda", f"{SCSI}/block/sda/device": SCSI}
STICK_FILES: dict[str, Content] = {
    f"{STICK}/model": b"Pocket Stick    \n",
    f"{STICK}/rev": b"1.00\n",
    f"{STICK}/block/sdb/dev": b"8:16\n",
    f"{STICK}/block/sdb/size": b"61440000\n",
    f"{STICK}/block/sdb/removable": b"1\n",
    "run/udev/data/b8:16": b"E:ID_BUS=usb\nE:ID_SERIAL_SHORT=4C530001\nE:ID_MODEL=Pocket_Stick\n",
}
STICK_LINKS = {"sys/block/sdb": f"{STICK}/block/sdb", f"{STICK}/block/sdb/device": STICK}
UDEV_SATA = (
    b"E:ID_BUS=ata\nE:ID_MODEL=Norvik_S4_Platter_Drive_500GB\n"
    b"E:ID_MODEL_ENC=Norvik\\x20S4\\x20Platter\\x20Drive\\x20500GB\\x20\\x20\n"
    b"E:ID_SERIAL_SHORT=SK440718A92F\nE:ID_REVISION=0000B6Q1\n"
)


def found(tree: DrawnTree) -> tuple[str, ...]:
    listing = find_drives(tree)
    assert isinstance(listing, Value)
    return listing.value


def nvme_tree(**changes: Content) -> DrawnTree:
    changed = {f"{NVME}/{name}": content for name, content in changes.items()}
    return DrawnTree(files={**NVME_FILES, **changed}, links=NVME_LINKS)


def test_an_nvme_drive_is_read_without_its_padding() -> None:
    tree = nvme_tree()
    assert found(tree) == (NVME,)
    drive = read_drive(tree, NVME)
    assert (drive.label, drive.position) == ("nvme0", Position.INTERNAL)
    assert values_of(drive) == {
        "bus": "nvme",
        "model": "Norvik N9 Drive 512GB",
        "serial": "NK20A7719F",
        "firmware": "3B2Q",
        "size_bytes": 512_110_190_592,
        "state": "live",
        "rotational": False,
        "removable": False,
        "tells_health": True,
    }


def test_a_serial_of_spaces_is_blank_and_a_counting_one_is_filler() -> None:
    assert isinstance(read_drive(nvme_tree(serial=b" " * 20), NVME).serial, Blank)
    assert isinstance(read_drive(nvme_tree(serial=b"0123456789\n"), NVME).serial, Filler)


def test_namespaces_are_summed_up() -> None:
    tree = DrawnTree(
        files={**NVME_FILES, f"{NVME}/nvme0n2/size": b"2048\n"},
        links={**NVME_LINKS, "sys/block/nvme0n2": f"{NVME}/nvme0n2"},
    )
    assert found(tree) == (NVME,)
    size = read_drive(tree, NVME).size_bytes
    assert isinstance(size, Value)
    assert size.value == 512_110_190_592 + 2048 * 512


def test_a_shared_namespace_is_found_at_its_own_block_device() -> None:
    files = {path: text for path, text in NVME_FILES.items() if "nvme0n1" not in path}
    head = "sys/devices/virtual/nvme-subsystem/nvme-subsys0/nvme0n1"
    tree = DrawnTree(
        files={**files, f"{NVME}/nvme0c0n1/size": b"0\n", f"{head}/size": b"4096\n"},
        links={"sys/class/nvme/nvme0": NVME, "sys/block/nvme0n1": head},
    )
    assert found(tree) == (NVME,)
    size = read_drive(tree, NVME).size_bytes
    assert size == Value(value=4096 * 512, sources=("sys/block/nvme0n1/size",))


def test_a_copy_without_links_finds_the_namespace_by_name() -> None:
    tree = DrawnTree(
        files={
            "sys/class/nvme/nvme0/model": b"Norvik N9\n",
            "sys/block/nvme0n1/size": b"4096\n",
            "sys/block/nvme0n1/device/model": b"Norvik N9\n",
        }
    )
    assert found(tree) == ("sys/class/nvme/nvme0",)
    drive = read_drive(tree, "sys/class/nvme/nvme0")
    assert values_of(drive) == {
        "bus": "nvme",
        "model": "Norvik N9",
        "size_bytes": 4096 * 512,
        "tells_health": True,
    }


def test_a_controller_without_namespace_has_no_size() -> None:
    files = {path: text for path, text in NVME_FILES.items() if "nvme0n1" not in path}
    tree = DrawnTree(
        files=files, links={"sys/class/nvme/nvme0": NVME}, folders=("sys/block", "sys/class/nvme")
    )
    drive = read_drive(tree, NVME)
    for reading in (drive.size_bytes, drive.rotational, drive.removable):
        assert isinstance(reading, Absent)
        assert reading.reason == "the controller shows no namespace"


@pytest.mark.parametrize("refused", [NVME, "sys/block"])
def test_namespaces_that_cannot_be_listed_leave_the_size_unknown(refused: str) -> None:
    files = {path: text for path, text in NVME_FILES.items() if "nvme0n1" not in path}
    drive = read_drive(DrawnTree(files={**files, refused: errno.EIO}), NVME)
    for reading in (drive.size_bytes, drive.rotational):
        assert isinstance(reading, Unreadable)
        assert (reading.error, reading.sources) == ("EIO", (refused,))


def test_a_drive_behind_an_outside_port_is_external() -> None:
    tree = DrawnTree(files={**NVME_FILES, f"{CARD}/removable": b"removable\n"}, links=NVME_LINKS)
    assert read_drive(tree, NVME).position is Position.EXTERNAL


@pytest.mark.parametrize(
    "extra",
    [
        {
            f"{SCSI}/vpd_pg89": ata_information_page(
                "Norvik S4 Platter Drive 500GB", "  SK440718A92F", "0000B6Q1"
            )
        },
        {"run/udev/data/b8:0": UDEV_SATA},
    ],
    ids=["page 89h", "udev"],
)
def test_a_sata_drive_is_named_whole(extra: dict[str, Content]) -> None:
    tree = DrawnTree(files={**SATA_FILES, **extra}, links=SATA_LINKS, folders=("sys/class/net",))
    place = f"{SCSI}/block/sda"
    assert found(tree) == (place,)
    drive = read_drive(tree, place)
    assert (drive.label, drive.position) == ("sda", Position.INTERNAL)
    assert values_of(drive) == {
        "bus": "sata",
        "model": "Norvik S4 Platter Drive 500GB",
        "serial": "SK440718A92F",
        "firmware": "0000B6Q1",
        "size_bytes": 500_107_862_016,
        "state": "running",
        "rotational": True,
        "removable": False,
    }


def test_a_sata_drive_without_either_is_named_in_the_widths_of_scsi() -> None:
    tree = DrawnTree(files=SATA_FILES, links=SATA_LINKS)
    shown = values_of(read_drive(tree, f"{SCSI}/block/sda"))
    assert (shown["model"], shown["firmware"]) == ("Norvik S4 Platte", "0B6Q")
    assert shown["serial"] == "SK440718A92F"


def test_a_broken_page_is_not_the_last_word() -> None:
    tree = DrawnTree(files={**SATA_FILES, f"{SCSI}/vpd_pg89": b"\0\x89"}, links=SATA_LINKS)
    model = read_drive(tree, f"{SCSI}/block/sda").model
    assert model == Value(value="Norvik S4 Platte", sources=(f"{SCSI}/block/sda/device/model",))


def test_a_serial_that_no_file_tells_is_unreadable_where_one_failed() -> None:
    tree = DrawnTree(files={**SATA_FILES, f"{SCSI}/vpd_pg80": errno.EIO}, links=SATA_LINKS)
    serial = read_drive(tree, f"{SCSI}/block/sda").serial
    assert isinstance(serial, Unreadable)
    assert serial.error == "EIO"


def test_a_serial_page_of_padding_is_blank() -> None:
    page = unit_serial_page(b" " * 20)
    tree = DrawnTree(files={**SATA_FILES, f"{SCSI}/vpd_pg80": page}, links=SATA_LINKS)
    assert isinstance(read_drive(tree, f"{SCSI}/block/sda").serial, Blank)


def test_a_bus_that_the_path_does_not_show_is_taken_from_udev() -> None:
    files: dict[str, Content] = {
        "sys/block/sda/dev": b"8:0\n",
        "sys/block/sda/device/model": b"Norvik S4 Platte\n",
    }
    known = DrawnTree(files={**files, "run/udev/data/b8:0": UDEV_SATA})
    assert read_drive(known, "sys/block/sda").bus == Value(
        value="sata", sources=("run/udev/data/b8:0",)
    )
    assert isinstance(read_drive(DrawnTree(files=files), "sys/block/sda").bus, Absent)
    refused = DrawnTree(files={**files, "run/udev/data/b8:0": errno.EACCES})
    assert isinstance(read_drive(refused, "sys/block/sda").bus, Unreadable)


def test_a_stick_and_a_drive_on_an_unknown_bus_tell_no_health() -> None:
    stick = read_drive(DrawnTree(files=STICK_FILES, links=STICK_LINKS), f"{STICK}/block/sdb")
    assert isinstance(stick.tells_health, Value)
    assert stick.tells_health.value is False
    assert stick.critical_warnings == Absent(
        reason="this kind of drive does not tell it", sources=(f"{STICK}/block/sdb",)
    )
    unknown = read_drive(DrawnTree(folders=("sys/block/sda",)), "sys/block/sda")
    assert isinstance(unknown.tells_health, Absent)


def test_a_usb_stick_is_outside() -> None:
    tree = DrawnTree(files=STICK_FILES, links=STICK_LINKS, folders=("sys/class/net",))
    assert found(tree) == (f"{STICK}/block/sdb",)
    drive = read_drive(tree, f"{STICK}/block/sdb")
    assert drive.position is Position.EXTERNAL
    shown = values_of(drive)
    assert (shown["bus"], shown["serial"], shown["removable"]) == ("usb", "4C530001", True)


@pytest.mark.parametrize(
    ("removable", "position"), [(b"0\n", Position.INTERNAL), (b"1\n", Position.EXTERNAL)]
)
def test_a_usb_drive_wired_inside_is_inside_unless_its_medium_comes_out(
    removable: bytes, position: Position
) -> None:
    files = {
        **STICK_FILES,
        f"{STICK_PORT}/removable": b"fixed\n",
        f"{STICK}/block/sdb/removable": removable,
    }
    tree = DrawnTree(files=files, links=STICK_LINKS)
    assert read_drive(tree, f"{STICK}/block/sdb").position is position


@pytest.mark.parametrize(
    ("card", "position"), [(b"MMC\n", Position.INTERNAL), (b"SD\n", Position.EXTERNAL)]
)
def test_an_emmc_is_inside_and_an_sd_card_is_not(card: bytes, position: Position) -> None:
    host = "sys/devices/pci0000:00/0000:00:1a.0/mmc_host/mmc0/mmc0:0001"
    files: dict[str, Content] = {
        f"{host}/type": card,
        f"{host}/name": b"NVM32G\n",
        f"{host}/serial": b"0x7f3a91c2\n",
        f"{host}/fwrev": b"0x0600000000000000\n",
        f"{host}/block/mmcblk0/size": b"61071360\n",
        f"{host}/block/mmcblk0boot0/size": b"8192\n",
    }
    links = {
        "sys/block/mmcblk0": f"{host}/block/mmcblk0",
        "sys/block/mmcblk0boot0": f"{host}/block/mmcblk0boot0",
        f"{host}/block/mmcblk0/device": host,
        f"{host}/block/mmcblk0boot0/device": host,
    }
    tree = DrawnTree(files=files, links=links, folders=("sys/class/net",))
    assert found(tree) == (f"{host}/block/mmcblk0",)
    drive = read_drive(tree, f"{host}/block/mmcblk0")
    assert drive.position is position
    shown = values_of(drive)
    assert (shown["bus"], shown["model"], shown["serial"]) == ("mmc", "NVM32G", "0x7f3a91c2")


def test_what_has_no_hardware_or_no_medium_is_no_drive() -> None:
    reader = f"{STICK}/block/sdc"
    tree = DrawnTree(
        files={
            "sys/block/loop0/size": b"8\n",
            "sys/block/zram0/size": b"8\n",
            "sys/block/dm-0/size": b"8\n",
            "sys/block/sr0/device/model": b"DVD\n",
            "sys/block/vdz/size": b"8\n",
            f"{reader}/size": b"0\n",
            f"{reader}/removable": b"1\n",
        },
        links={"sys/block/sdc": reader, f"{reader}/device": STICK},
        folders=("sys/class/net", STICK),
    )
    assert found(tree) == ()


def test_a_drive_that_shows_no_size_is_still_a_drive() -> None:
    files = {**SATA_FILES, f"{SCSI}/block/sda/size": b"0\n"}
    tree = DrawnTree(files=files, links=SATA_LINKS, folders=("sys/class/net",))
    assert found(tree) == (f"{SCSI}/block/sda",)


def test_one_class_that_cannot_be_listed_leaves_the_drives_unknown() -> None:
    nothing = DrawnTree(folders=("dev",))
    assert isinstance(find_drives(nothing), Absent)
    no_block = DrawnTree(files=NVME_FILES, links={"sys/class/nvme/nvme0": NVME})
    assert isinstance(find_drives(no_block), Absent)
    refused = DrawnTree(files={"sys/class/nvme": errno.EACCES}, folders=("sys/block",))
    assert isinstance(find_drives(refused), Unreadable)


def test_a_machine_without_the_nvme_driver_has_no_nvme_drive() -> None:
    tree = DrawnTree(folders=("sys/class/net", "sys/block"))
    assert found(tree) == ()
