"""Wi-Fi radios as the kernel shows them; names and ids are invented."""

import errno

import pytest

from closeout.model.device import Position
from closeout.model.reading import Absent, Unreadable, Value
from closeout.model.wireless import Wifi
from closeout.readers.wifi import find_radios, read_radio
from closeout.readers.wireless import READERS
from strategies.drawn_tree import Content, DrawnTree
from strategies.shown import value_of, values_of

CARD = "sys/devices/pci0000:00/0000:00:1c.0/0000:02:00.0"
PHY = f"{CARD}/ieee80211/phy0"
SWITCH = f"{PHY}/rfkill1"

FILES: dict[str, Content] = {
    f"{PHY}/macaddress": b"3C:52:82:6d:01:9a\n",
    f"{CARD}/uevent": b"DRIVER=norvik_wifi\nPCI_CLASS=28000\nPCI_ID=1AF9:2723\n",
    f"{CARD}/net/wlp2s0/addr_assign_type": b"0\n",
    f"{CARD}/net/wlp2s0/address": b"3c:52:82:6d:01:9a\n",
    f"{SWITCH}/soft": b"0\n",
    f"{SWITCH}/hard": b"1\n",
}
LINKS = {
    "sys/class/ieee80211/phy0": PHY,
    "sys/class/rfkill/rfkill1": SWITCH,
    "sys/class/net/wlp2s0": f"{CARD}/net/wlp2s0",
    f"{PHY}/device": CARD,
    f"{CARD}/driver": "sys/bus/pci/drivers/norvik_wifi",
    f"{CARD}/net/wlp2s0/phy80211": PHY,
}


def radio(changes: dict[str, Content] | None = None, without: str = "none of them") -> Wifi:
    files = {path: text for path, text in FILES.items() if without not in path}
    links = {path: target for path, target in LINKS.items() if without not in path}
    tree = DrawnTree(files={**files, **(changes or {})}, links=links)
    return read_radio(tree, PHY)


def test_a_radio_is_read_whole() -> None:
    listing = find_radios(DrawnTree(files=FILES, links=LINKS))
    assert isinstance(listing, Value)
    assert listing.value == (PHY,)
    found = radio()
    assert (found.label, found.position) == ("phy0", Position.INTERNAL)
    assert values_of(found) == {
        "interface": "wlp2s0",
        "driver": "norvik_wifi",
        "mac": "3c:52:82:6d:01:9a",
        "mac_sound": "universal",
        "current_mac": "3c:52:82:6d:01:9a",
        "bus_id": "1af9:2723",
        "soft_blocked": False,
        "hard_blocked": True,
    }


def test_no_loaded_driver_is_no_radio_and_nothing_at_all_is_unknown() -> None:
    assert find_radios(DrawnTree(folders=("sys/class/net",))) == Value(
        value=(), sources=("sys/class/ieee80211", "sys/class")
    )
    assert isinstance(find_radios(DrawnTree(folders=("proc",))), Absent)
    assert isinstance(find_radios(DrawnTree(files={"sys/class/ieee80211": errno.EIO})), Unreadable)


@pytest.mark.parametrize(
    ("mac", "sound"),
    [
        (b"00:00:00:00:00:00\n", "all zero: not programmed"),
        (b"02:fc:00:00:00:01\n", "locally administered: virtual, random or not programmed"),
        (b"nonsense\n", "not an address of six octets"),
    ],
)
def test_an_unsound_address_is_said_to_be_so(mac: bytes, sound: str) -> None:
    found = radio({f"{PHY}/macaddress": mac}).mac_sound
    assert found == Value(value=sound, sources=(f"{PHY}/macaddress",))


def test_a_random_address_is_told_from_one_that_was_not_programmed() -> None:
    found = radio(
        {
            f"{PHY}/macaddress": b"da:a1:19:00:00:01\n",
            f"{CARD}/net/wlp2s0/addr_assign_type": b"1\n",
        }
    )
    assert isinstance(found.mac_sound, Value)
    assert found.mac_sound.value == "random; permanent address unknown"


def test_the_address_of_the_interface_counts_only_where_it_is_the_cards_own() -> None:
    own = radio(without="macaddress")
    assert own.mac == Value(value="3c:52:82:6d:01:9a", sources=(f"{CARD}/net/wlp2s0/address",))
    set_by_hand = radio({f"{CARD}/net/wlp2s0/addr_assign_type": b"3\n"}, without="macaddress")
    assert isinstance(set_by_hand.mac, Absent)
    assert set_by_hand.mac.reason == "the permanent address is not shown"
    assert isinstance(set_by_hand.mac_sound, Absent)


def test_an_address_that_cannot_be_read_is_not_taken_from_elsewhere() -> None:
    found = radio({f"{PHY}/macaddress": errno.EACCES})
    assert isinstance(found.mac, Unreadable)
    assert isinstance(found.mac_sound, Unreadable)


def test_an_interface_elsewhere_is_found_by_its_link() -> None:
    links = {
        **{path: target for path, target in LINKS.items() if "net" not in path},
        "sys/class/net/wlan7/phy80211": PHY,
        "sys/class/net/eth0/device": "sys/devices/pci0000:00/0000:00:1f.6",
    }
    files = {path: text for path, text in FILES.items() if "/net/" not in path}
    found = read_radio(DrawnTree(files=files, links=links), PHY)
    assert found.interface == Value(value="wlan7", sources=("sys/class/net",))


def test_the_other_radio_of_a_card_does_not_lend_its_interface() -> None:
    links = {**LINKS, f"{CARD}/net/wlp2s0/phy80211": f"{CARD}/ieee80211/phy1"}
    found = read_radio(DrawnTree(files=FILES, links=links), PHY)
    assert isinstance(found.interface, Absent)
    assert found.interface.reason == "the radio has no network interface"


def test_a_switch_is_found_by_name_where_nothing_is_linked() -> None:
    files: dict[str, Content] = {
        "sys/class/ieee80211/phy0/macaddress": b"3c:52:82:6d:01:9a\n",
        "sys/class/rfkill/rfkill0/name": b"hci0\n",
        "sys/class/rfkill/rfkill3/name": b"phy0\n",
        "sys/class/rfkill/rfkill3/soft": b"1\n",
        "sys/class/rfkill/rfkill3/hard": b"0\n",
    }
    found = read_radio(DrawnTree(files=files), "sys/class/ieee80211/phy0")
    assert found.soft_blocked == Value(value=True, sources=("sys/class/rfkill/rfkill3/soft",))
    assert found.position is Position.UNKNOWN


def test_a_radio_without_a_switch_is_not_called_free() -> None:
    found = radio(without="rfkill")
    assert isinstance(found.soft_blocked, Absent)
    foreign = radio({"sys/class/rfkill/rfkill9/name": b"hci0\n"}, without="rfkill1")
    assert isinstance(foreign.hard_blocked, Absent)
    assert foreign.hard_blocked.reason == "no rfkill switch belongs to this radio"
    unread = radio({"sys/class/rfkill/rfkill9/name": errno.EIO}, without="rfkill1")
    assert isinstance(unread.hard_blocked, Unreadable)
    refused = radio({"sys/class/rfkill": errno.EACCES}, without="rfkill1")
    assert isinstance(refused.hard_blocked, Unreadable)


def test_ids_come_from_files_where_the_uevent_has_none() -> None:
    files: dict[str, Content] = {
        f"{CARD}/uevent": b"DRIVER=norvik_wifi\n",
        f"{CARD}/vendor": b"0x1af9\n",
        f"{CARD}/device": b"0x2723\n",
    }
    assert values_of(radio(files))["bus_id"] == "1af9:2723"
    none = radio(without="uevent")
    assert isinstance(none.bus_id, Absent)
    assert none.bus_id.reason == "its bus gives no ids"


def test_a_card_without_a_driver_says_so() -> None:
    driver = radio(without="driver").driver
    assert driver == Absent(reason="no driver is bound", sources=(f"{CARD}/driver",))


def test_the_list_names_both_kinds_of_radio() -> None:
    assert [reader.kind for reader in READERS] == ["wifi", "bluetooth"]


def test_the_address_in_use_may_be_another_one() -> None:
    net = f"{CARD}/net/wlp2s0"
    changes: dict[str, Content] = {
        f"{net}/address": b"DA:a1:19:00:00:01\n",
        f"{net}/addr_assign_type": b"1\n",
    }
    found = radio(changes)
    assert found.current_mac == Value(value="da:a1:19:00:00:01", sources=(f"{net}/address",))
    assert value_of(found.mac) == "3c:52:82:6d:01:9a"
    assert isinstance(radio(without="/net/").current_mac, Absent | Unreadable)
