"""Which partition is the stick: over drawn machines, with copies where none may be taken."""

import errno
from collections.abc import Mapping
from typing import Final

import pytest
from hypothesis import given
from hypothesis import strategies as st

from closeout.media.stick.find import NoStick, Volume, find_stick
from strategies.drawn_tree import DrawnTree

OWN, OTHER = "1A2B-3C4D", "5E6F-7A8B"
USB: Final = "sys/devices/pci0000:00/0000:00:14.0/usb2/2-1/2-1:1.0/host4/target4:0:0/4:0:0:0/block"
BUILT_IN: Final = "sys/devices/pci0000:00/0000:00:14.0/usb2/2-7/2-7:1.0/host5/t/5:0:0:0/block"
NVME: Final = "sys/devices/pci0000:00/0000:00:03.0/0000:01:00.0/nvme/nvme0"
SATA: Final = "sys/devices/pci0000:00/0000:00:17.0/ata1/host0/target0:0:0/0:0:0:0/block"
VIRTUAL: Final = "sys/devices/virtual/block"


def sector(volume_id: str = OWN, label: str = "CLOSEOUT") -> bytes:
    """The first sector of a FAT32 file system."""
    raw = bytearray(512)
    raw[11:13], raw[16] = (512).to_bytes(2, "little"), 2
    raw[66], raw[82:90] = 0x29, b"FAT32   "
    raw[67:71] = int(volume_id.replace("-", ""), 16).to_bytes(4, "little")
    raw[71:82] = label.encode().ljust(11)
    raw[510:512] = b"\x55\xaa"
    return bytes(raw)


def draw(*places: str, removable: tuple[str, ...] = (), **files: bytes) -> DrawnTree:
    """A machine with these devices; a name that ends in a number is a partition."""
    drawn: dict[str, bytes | int] = {"sys/class/block": errno.ENOENT} if not places else {}
    links = {}
    for place in places:
        name = place.rpartition("/")[2]
        links[f"sys/class/block/{name}"] = place
        is_partition = place.rpartition("/")[0].rpartition("/")[2].startswith(("sd", "nvme0n"))
        drawn[f"{place}/{'partition' if is_partition else 'removable'}"] = (
            b"1\n" if is_partition or name in removable else b"0\n"
        )
    built_in = BUILT_IN.partition("/2-7:")[0]
    drawn[f"{built_in}/removable"] = b"fixed\n"
    return DrawnTree(files={**drawn, **files}, links=links)


def found(tree: DrawnTree, sectors: Mapping[str, bytes], volume_id: str = OWN) -> Volume | NoStick:
    def read_start(name: str) -> bytes:
        if name not in sectors:
            raise OSError(errno.EIO, "no")
        return sectors[name]

    return find_stick(tree, read_start, volume_id)


def test_a_partition_on_usb_is_the_stick() -> None:
    tree = draw(f"{USB}/sda", f"{USB}/sda/sda1", f"{USB}/sda/sda2")
    stick = found(tree, {"sda1": sector(), "sda2": sector(OTHER, "ESP")})
    assert stick == Volume(device="sda1", volume_id=OWN, label="CLOSEOUT")


def test_a_stick_without_partitions_is_one_too() -> None:
    stick = found(draw(f"{USB}/sda"), {"sda": sector()}, "")
    assert isinstance(stick, Volume)


@pytest.mark.parametrize(
    "place",
    [f"{NVME}/nvme0n1/nvme0n1p1", f"{SATA}/sdb/sdb1", f"{BUILT_IN}/sdb/sdb1", f"{VIRTUAL}/loop0"],
)
def test_a_copy_on_the_units_own_disk_is_never_taken(place: str) -> None:
    """Alone it is not found, and beside the stick it makes nothing ambiguous."""
    name = place.rpartition("/")[2]
    for volume_id in (OWN, ""):
        alone = found(draw(place.rpartition("/")[0], place), {name: sector()}, volume_id)
        assert isinstance(alone, NoStick)
        assert "put it in" in alone.why
    tree = draw(place.rpartition("/")[0], place, f"{USB}/sda", f"{USB}/sda/sda1")
    stick = found(tree, {name: sector(), "sda1": sector()})
    assert isinstance(stick, Volume)
    assert stick.device == "sda1"


def test_a_disk_that_the_kernel_calls_removable_counts() -> None:
    place = f"{SATA}/sdb"
    tree = draw(place, f"{place}/sdb1", removable=("sdb",))
    assert isinstance(found(tree, {"sdb1": sector()}), Volume)


@pytest.mark.parametrize("volume_id", [OWN, ""])
def test_two_that_match_are_refused(volume_id: str) -> None:
    tree = draw(f"{USB}/sda", f"{USB}/sda/sda1", f"{USB}/sdb", f"{USB}/sdb/sdb1")
    stick = found(tree, {"sda1": sector(), "sdb1": sector()}, volume_id)
    assert isinstance(stick, NoStick)
    assert "sda1 and sdb1" in stick.why


def test_without_an_id_the_label_decides() -> None:
    tree = draw(f"{USB}/sda", f"{USB}/sda/sda1", f"{USB}/sda/sda2")
    sectors = {"sda1": sector(OTHER, "HOLIDAY"), "sda2": sector(OTHER)}
    stick = found(tree, sectors, "")
    assert isinstance(stick, Volume)
    assert stick.device == "sda2"


def test_nothing_to_look_at_is_no_stick() -> None:
    assert isinstance(found(DrawnTree(), {}), NoStick)
    assert isinstance(found(draw(f"{USB}/sda"), {}), NoStick)


def test_who_may_not_look_is_told_so() -> None:
    """On a unit's own Linux, started by an ordinary user."""

    def refused(_: str) -> bytes:
        raise PermissionError(errno.EACCES, "Permission denied")

    stick = find_stick(draw(f"{USB}/sda", f"{USB}/sda/sda1"), refused, OWN)
    assert stick == NoStick(why="only root can look for a stick: start it with sudo")
    alone = find_stick(draw(f"{NVME}/nvme0n1"), refused, OWN)
    assert isinstance(alone, NoStick)
    assert "put it in" in alone.why


PLACES: Final = (
    f"{USB}/sda/sda1",
    f"{USB}/sdc/sdc1",
    f"{NVME}/nvme0n1/nvme0n1p1",
    f"{SATA}/sdb/sdb1",
    f"{BUILT_IN}/sdd/sdd1",
    f"{VIRTUAL}/loop0",
)


@given(st.dictionaries(st.sampled_from(PLACES), st.sampled_from([OWN, OTHER]), max_size=6))
def test_never_another_than_the_only_one_that_can_be_pulled(machine: Mapping[str, str]) -> None:
    parents = {place.rpartition("/")[0] for place in machine if "virtual" not in place}
    sectors = {place.rpartition("/")[2]: sector(one) for place, one in machine.items()}
    stick = found(draw(*machine, *parents), sectors)
    allowed = [place for place, one in machine.items() if place.startswith(USB) and one == OWN]
    assert isinstance(stick, Volume) == (len(allowed) == 1)
    if isinstance(stick, Volume):
        assert allowed[0].endswith(f"/{stick.device}")
