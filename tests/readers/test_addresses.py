"""The addresses of a unit beside each other; all are invented."""

import errno

from closeout.model.network import Addresses
from closeout.model.reading import Absent, Unreadable
from closeout.readers.addresses import PLACE, find_addresses, read_addresses
from strategies.drawn_tree import Content, DrawnTree
from strategies.shown import value_of

BUS = "sys/devices/pci0000:00"
BOARD = "3c:52:82:aa:00:01"
RADIO = "3c:52:82:aa:00:02"


class Unit:
    """A unit drawn interface by interface."""

    def __init__(self) -> None:
        self.files: dict[str, Content] = {}
        self.links: dict[str, str] = {}
        self.answers: dict[str, Content] = {}

    def interface(
        self, name: str, card: str, current: str, permanent: Content = b"", sort: str = ""
    ) -> "Unit":
        """An interface on a card; without `permanent` its own address is the one in use."""
        place = f"{BUS}/{card}/net/{name}"
        self.links[f"sys/class/net/{name}"] = place
        self.links[f"{place}/device"] = f"{BUS}/{card}"
        told = {
            "uevent": f"DEVTYPE={sort}\n" if sort else "\n",
            "type": "1\n",
            "address": f"{current}\n",
            "addr_assign_type": "1\n" if permanent else "0\n",
        }
        self.files |= {f"{place}/{key}": text.encode() for key, text in told.items()}
        self.answers[f"net permanent-address {name}"] = permanent or current.encode()
        return self

    def bluetooth(self, name: str, card: str, address: str) -> "Unit":
        """A Bluetooth controller."""
        place = f"{BUS}/{card}/bluetooth/{name}"
        self.links |= {f"sys/class/bluetooth/{name}": place, f"{place}/device": f"{BUS}/{card}"}
        self.answers[f"bluetooth address {name}"] = address.encode()
        return self

    def plugged(self, device: str, connect_type: bytes) -> "Unit":
        """What the port of a USB device says."""
        self.files[f"{BUS}/{device}/port/connect_type"] = connect_type
        return self

    def tree(self) -> DrawnTree:
        """The machine."""
        return DrawnTree(files=self.files, links=self.links, answers=self.answers)

    def read(self) -> Addresses:
        """What is made of it."""
        return read_addresses(self.tree(), PLACE)


def unit() -> Unit:
    return (
        Unit()
        .interface("enp1s0", "0000:01:00.0", BOARD)
        .interface("wlp2s0", "0000:02:00.0", RADIO, sort="wlan")
    )


def test_a_unit_whose_parts_have_their_own_addresses() -> None:
    tree = unit().bluetooth("hci0", "0000:00:14.0/usb1/1-9/1-9:1.0", "3c:52:82:aa:00:03").tree()
    assert value_of(find_addresses(tree)) == (PLACE,)
    found = read_addresses(tree, PLACE)
    assert value_of(found.duplicates) == value_of(found.passed_through) == ()
    assert value_of(found.not_permanent) == value_of(found.unsound) == ()


def test_two_parts_with_one_address_are_told() -> None:
    twins = Unit().interface("enp1s0", "0000:01:00.0", BOARD)
    twins.interface("wlp2s0", "0000:02:00.0", BOARD, sort="wlan")
    found = twins.read()
    assert value_of(found.duplicates) == (f"enp1s0 and wlp2s0: '{BOARD}'",)
    assert value_of(found.passed_through) == ()


def test_two_interfaces_of_one_card_may_share_its_address() -> None:
    both = unit().interface("p2p0", "0000:02:00.0", RADIO, sort="wlan")
    assert value_of(both.read().duplicates) == ()


def test_a_dock_that_has_the_address_of_the_board_is_no_duplicate() -> None:
    dock = "0000:00:14.0/usb2/2-1"
    docked = unit().interface("enx", f"{dock}/2-1:1.0", BOARD).plugged(dock, b"hotplug\n")
    found = docked.read()
    assert value_of(found.duplicates) == ()
    assert value_of(found.passed_through) == (f"enx has that of enp1s0: '{BOARD}'",)
    untold = unit().interface("enx", f"{dock}/2-1:1.0", BOARD)
    assert value_of(untold.read().duplicates) == ()
    inside = unit().interface("enx", f"{dock}/2-1:1.0", BOARD).plugged(dock, b"hardwired\n")
    assert value_of(inside.read().duplicates) == (f"enp1s0 and enx: '{BOARD}'",)


def test_two_adapters_with_one_address_are_nothing_of_the_unit() -> None:
    other = "3c:52:82:bb:00:01"
    plugged = (
        unit()
        .interface("enx0", "0000:00:14.0/usb2/2-1/2-1:1.0", other)
        .interface("enx1", "0000:00:14.0/usb2/2-2/2-2:1.0", other)
        .read()
    )
    assert value_of(plugged.duplicates) == value_of(plugged.passed_through) == ()


def test_an_address_that_is_made_up_is_told_beside_the_permanent_one() -> None:
    found = Unit().interface("wlp2s0", "0000:02:00.0", "da:a1:19:00:00:01", RADIO.encode()).read()
    assert value_of(found.not_permanent) == (f"wlp2s0: 'da:a1:19:00:00:01' for '{RADIO}'",)
    assert value_of(found.unsound) == ()


def test_a_placeholder_is_unsound() -> None:
    found = unit().bluetooth("hci0", "usb1/1-9", "00:11:22:33:44:55").read()
    assert value_of(found.unsound) == ("hci0: '00:11:22:33:44:55'",)


def test_what_could_not_be_read_leaves_it_open_unless_something_was_found() -> None:
    some = unit().interface("enp3s0", "0000:03:00.0", BOARD)
    some.files[f"{BUS}/0000:02:00.0/net/wlp2s0/address"] = errno.EIO
    found = some.read()
    assert value_of(found.duplicates) == (f"enp1s0 and enp3s0: '{BOARD}'",)
    assert isinstance(found.unsound, Unreadable)
    assert found.unsound.error == "EIO"


def test_without_any_address_there_is_nothing_to_compare() -> None:
    empty = DrawnTree(folders=("sys/class/net",))
    assert value_of(find_addresses(empty)) == (PLACE,)
    assert isinstance(read_addresses(empty, PLACE).duplicates, Absent)
    denied = DrawnTree(files={"sys/class/net": errno.EACCES})
    assert isinstance(find_addresses(denied), Unreadable)
