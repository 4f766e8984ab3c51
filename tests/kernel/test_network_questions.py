"""Questions about the network: what is asked of the kernel, and what becomes of its answers."""

import errno
import socket
import struct
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Self

import pytest

from closeout.kernel import network_questions
from closeout.kernel.failure import ReadError, Reason
from closeout.kernel.live import LiveTree
from closeout.kernel.network_questions import (
    HCIGETDEVINFO,
    QUESTIONS,
    SIOCETHTOOL,
    answer_network,
    is_network_question,
    radio_rules,
)
from strategies.netlink import attribute, domain, done, generic, message

FAMILY = 0x23
REFUSED = b"\xed\xff\xff\xff"
ADDRESS = bytes.fromhex("3c1a9f207760")


class Door:
    """A socket that answers with what it was given, and keeps what it was told."""

    def __init__(self, answers: Iterator[bytes | OSError]) -> None:
        self._answers = answers
        self.sent: list[bytes] = []

    def __enter__(self) -> Self:
        """Itself."""
        return self

    def __exit__(self, *_: object) -> None:
        """Nothing is held."""

    def settimeout(self, seconds: float) -> None:
        """It never waits for ever."""
        assert seconds > 0

    def bind(self, address: tuple[int, int]) -> None:
        """To any port."""
        assert address == (0, 0)

    def send(self, raw: bytes) -> None:
        """Keeps what it was told."""
        self.sent.append(raw)

    def recv(self, size: int) -> bytes:
        """The next answer."""
        assert size >= 4096
        answer = next(self._answers)
        if isinstance(answer, OSError):
            raise answer
        return answer


@pytest.fixture
def kernel(monkeypatch: pytest.MonkeyPatch) -> Callable[..., Door]:
    """Puts a kernel behind the socket that answers with these datagrams."""

    def pretend(*answers: bytes | OSError) -> Door:
        door = Door(iter(answers))
        monkeypatch.setattr(network_questions.socket, "socket", lambda *_: door)
        return door

    return pretend


def family(number: int = FAMILY) -> bytes:
    told = attribute(1, struct.pack("<H", number)) + attribute(2, b"nl80211\0")
    return message(0x10, generic(1, told), sequence=0x10)


def rules(*, sequence: int = FAMILY) -> bytes:
    return domain("DE")[:8] + struct.pack("<I", sequence) + domain("DE")[12:]


def failure_of(question: str) -> ReadError:
    with pytest.raises(ReadError) as caught:
        answer_network(question)
    return caught.value


def test_the_rules_are_asked_for_as_a_dump_and_kept_as_they_came(
    kernel: Callable[..., Door],
) -> None:
    door = kernel(family(), rules(), done(sequence=FAMILY))
    assert answer_network("nl80211 regulatory") == rules() + done(sequence=FAMILY)
    name, dump = door.sent
    assert b"nl80211\0" in name
    assert struct.unpack("<IHHIIBBH", dump) == (20, FAMILY, 0x301, FAMILY, 0, 31, 1, 0)


@pytest.mark.parametrize(
    ("answers", "code"),
    [
        ((message(2, b"\xfe\xff\xff\xff", sequence=0x10),), "ENOENT"),
        ((family(), message(2, REFUSED, sequence=FAMILY)), "ENODEV"),
        ((family(), done(sequence=FAMILY, error=errno.ENODEV)), "ENODEV"),
        ((family(), b"\1\2\3"), "EBADMSG"),
        ((message(0x10, generic(1, b""), sequence=0x10),), "EBADMSG"),
        ((TimeoutError(),), "ETIMEDOUT"),
        ((OSError(errno.EPERM, "no"),), "EPERM"),
        ((family(), *([rules()] * 64)), "EMSGSIZE"),
    ],
)
def test_a_refusal_or_nonsense_is_a_failure_with_its_errno(
    kernel: Callable[..., Door], answers: tuple[bytes | OSError, ...], code: str
) -> None:
    kernel(*answers)
    assert failure_of("nl80211 regulatory").code == code


def test_messages_of_others_do_not_end_the_dump(kernel: Callable[..., Door]) -> None:
    kernel(family(), done(sequence=1), rules(), done(sequence=FAMILY))
    assert radio_rules("nl80211").endswith(done(sequence=FAMILY))


def test_a_permanent_address_is_asked_of_the_interface(
    kernel: Callable[..., Door], monkeypatch: pytest.MonkeyPatch
) -> None:
    kernel()

    def told(_: Door, order: int, request: bytes) -> None:
        assert order == SIOCETHTOOL
        assert request[:16] == b"enp1s0".ljust(16, b"\0")
        (place,) = struct.unpack_from("P", request, 16)
        block = (network_questions.ctypes.c_char * 40).from_address(place)
        assert struct.unpack_from("=II", block) == (0x20, 32)
        struct.pack_into("=I6s", block, 4, 6, ADDRESS)

    monkeypatch.setattr(network_questions.fcntl, "ioctl", told)
    assert answer_network("net permanent-address enp1s0") == b"3c:1a:9f:20:77:60\n"


def test_a_bluetooth_address_is_told_backwards_by_the_kernel(
    kernel: Callable[..., Door], monkeypatch: pytest.MonkeyPatch
) -> None:
    kernel()

    def told(_: Door, order: int, block: bytearray) -> None:
        assert order == HCIGETDEVINFO
        assert struct.unpack_from("=H", block) == (3,)
        block[10:16] = bytes(reversed(ADDRESS))

    monkeypatch.setattr(network_questions.fcntl, "ioctl", told)
    assert answer_network("bluetooth address hci3") == b"3c:1a:9f:20:77:60\n"


@pytest.mark.parametrize(
    "question",
    [
        "net permanent-address",
        "net permanent-address a/b",
        "net permanent-address 0123456789abcdef",
        "net set-address eth0",
        "bluetooth address hci",
        "bluetooth address hci0:11",
        "bluetooth address hci99999",
        "nl80211 scan",
        "",
    ],
)
def test_nothing_else_can_be_asked(question: str) -> None:
    assert not is_network_question(question)
    assert failure_of(question).reason is Reason.NOT_OFFERED


def test_the_list_of_questions_is_these_three() -> None:
    assert [pattern.pattern.split()[0] for pattern, _ in QUESTIONS] == [
        "net",
        "bluetooth",
        "(nl80211)",
    ]


def test_a_name_of_more_bytes_than_characters_is_refused(kernel: Callable[..., Door]) -> None:
    kernel()
    assert failure_of(f"net permanent-address {'é' * 15}").code == "ENODEV"


@pytest.mark.live
def test_the_loopback_has_no_address_and_an_unknown_name_no_device() -> None:
    tree = LiveTree()
    assert tree.ask("net permanent-address lo").strip(b"0:\n") == b""
    with pytest.raises(ReadError) as caught:
        tree.ask("net permanent-address no-such-port")
    assert caught.value.code == "ENODEV"


@pytest.mark.live
def test_every_address_is_one_that_the_kernel_shows_too() -> None:
    """Where the address in use is permanent, both are the same."""
    for place in Path("/sys/class/net").iterdir():
        assigned = (place / "addr_assign_type").read_text().strip()
        if assigned == "0" and (place / "device").exists():
            shown = (place / "address").read_text().strip()
            asked = answer_network(f"net permanent-address {place.name}").decode().strip()
            assert asked in {shown, "00:00:00:00:00:00"}


def test_the_numbers_of_the_calls_are_those_of_the_headers() -> None:
    """_IOR('H', 211, int) of hci_sock.h, and the constants that Python has names for."""
    assert 2 << 30 | 4 << 16 | ord("H") << 8 | 211 == HCIGETDEVINFO
    assert getattr(socket, "NETLINK_GENERIC", 16) == network_questions.GENERIC
    assert getattr(socket, "AF_BLUETOOTH", 31) == network_questions.BLUETOOTH
