"""The kernel's log and its messages, each with the device that it names."""

import errno
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from closeout.decode.kernel_log import LogRecord
from closeout.model.device import Position
from closeout.model.kernel_log import KernelMessage
from closeout.model.reading import Absent, Unreadable
from closeout.readers.kernel_log import (
    find_log,
    find_messages,
    read_crashes,
    read_log,
    read_message,
)
from closeout.readers.kernel_log_message import LONGEST_TEXT, MOST_MESSAGES, identifiers_in
from closeout.report.as_json import render_json
from closeout.report.redact import redact
from strategies.drawn_tree import Content, DrawnTree
from strategies.fen import HEALTHY
from strategies.kernel_log import answer_of, line, records
from strategies.notebook import draw_notebook
from strategies.runs import judge, record
from strategies.shown import value_of, values_of

CARD = "sys/devices/pci0000:00/0000:00:1f.2"
STICK = "sys/devices/pci0000:00/0000:00:14.0/usb1/1-3"
LINKS = {
    "sys/bus/pci/devices/0000:00:1f.2": CARD,
    "sys/bus/usb/devices/1-3": STICK,
    "sys/dev/block/8:0": f"{CARD}/ata1/host0/block/sda",
    "sys/class/net/wlan0": f"{CARD}/net/wlan0",
    "sys/class/nvme/nvme0": f"{CARD}/nvme/nvme0",
    "sys/class/ata_port/ata1": f"{CARD}/ata1/ata_port/ata1",
    "sys/class/sound/card0": f"{CARD}/sound/card0",
}
FILES: dict[str, Content] = {
    f"{CARD}/net/wlan0/ifindex": b"3\n",
    f"{STICK}/removable": b"removable\n",
    "proc/mounts": b"pstore /sys/fs/pstore pstore rw 0 0\n",
    "sys/fs/pstore/dmesg-efi-170000000001001": b"",
}
QUESTION = "kernel log"


def log(answer: Content, files: dict[str, Content] | None = None) -> DrawnTree:
    return DrawnTree(files={**FILES, **(files or {})}, links=LINKS, answers={QUESTION: answer})


def messages_of(answer: Content) -> list[KernelMessage]:
    tree = log(answer)
    return [read_message(tree, place) for place in value_of(find_messages(tree))]


def test_a_message_is_read_whole() -> None:
    record = line(
        "nvme nvme0: I/O 5 QID 2 timeout", sequence=9, level=3, device="+pci:0000:00:1f.2"
    )
    (found,) = messages_of(answer_of(record))
    assert (found.label, found.position) == ("message 9", Position.INTERNAL)
    assert values_of(found) == {
        "text": "nvme nvme0: I/O 5 QID 2 timeout",
        "severity": "error",
        "times": 1,
        "first_microseconds": 9000,
        "about_device": CARD,
        "named_by": "dictionary",
        "identifiers": (),
    }
    assert isinstance(found.nature, Unreadable)


@pytest.mark.parametrize(
    ("told", "about"),
    [
        ("+pci:0000:00:1f.2", CARD),
        ("+usb:1-3", STICK),
        ("b8:0", f"{CARD}/ata1/host0/block/sda"),
        ("n3", f"{CARD}/net/wlan0"),
        ("n9", "n9"),
        ("c4:64", "c4:64"),
        ("+sound:card0", f"{CARD}/sound/card0"),
        ("+pci:0000:09:00.0", "0000:09:00.0"),
        ("+pci:../../x", "+pci:../../x"),
        ("?", "?"),
    ],
)
def test_the_dictionary_names_the_device(told: str, about: str) -> None:
    (found,) = messages_of(answer_of(line("usb 1-3: also named in the text", device=told)))
    assert value_of(found.about_device) == about
    assert value_of(found.named_by) == "dictionary"


@pytest.mark.parametrize(
    ("text", "about"),
    [
        ("pcieport 0000:00:1f.2: AER: Corrected error received", CARD),
        ("usb 1-3: device descriptor read/64, error -71", STICK),
        ("hub 1-3:1.0: over-current change", STICK),
        ("nvme nvme0: controller is down", f"{CARD}/nvme/nvme0"),
        ("ata1.00: exception Emask 0x10", f"{CARD}/ata1/ata_port/ata1"),
        ("i2c_hid_acpi i2c-FE310214:00: failed to reset device", "i2c-FE310214:00"),
        ("mce: CPU2: Package temperature is above threshold", "CPU2"),
    ],
)
def test_the_text_names_the_device(text: str, about: str) -> None:
    (found,) = messages_of(answer_of(line(text)))
    assert value_of(found.about_device) == about
    assert value_of(found.named_by) == "text"


def test_a_message_about_nothing_says_so() -> None:
    (found,) = messages_of(answer_of(line("something happened")))
    assert isinstance(found.about_device, Absent)
    assert isinstance(found.named_by, Absent)
    assert found.position is Position.UNKNOWN


def test_a_message_about_what_is_plugged_in_is_outside() -> None:
    (found,) = messages_of(answer_of(line("usb 1-3: reset", device="+usb:1-3")))
    assert found.position is Position.EXTERNAL


def test_what_came_again_is_one_message_and_the_worst_come_first() -> None:
    found = messages_of(
        answer_of(
            line("hrtimer: interrupt took 36958116 ns", sequence=1),
            line("critical", sequence=2, level=2),
            line("hrtimer: interrupt took 4 ns", sequence=3, level=3),
            line("usb 1-3: reset", sequence=4, device="+usb:1-3"),
            line("usb 1-4: reset", sequence=5, device="+usb:1-4"),
        )
    )
    told = [(value_of(one.text), value_of(one.severity), value_of(one.times)) for one in found]
    assert told == [
        ("critical", "critical", 1),
        ("hrtimer: interrupt took 36958116 ns", "error", 2),
        ("usb 1-3: reset", "warning", 1),
        ("usb 1-4: reset", "warning", 1),
    ]


def test_a_dump_is_no_message_of_its_own() -> None:
    texts = (
        "BUG: Bad page state in process kworker/u8:0  pfn:20400",
        "page: refcount:0 mapcount:0 mapping:0000000000000000 index:0x0 pfn:0x20400",
        "CPU: 0 UID: 0 PID: 12 Comm: kworker/u8:0 Not tainted 6.12.0",
        "Call Trace:",
        " <TASK>",
        " dump_stack_lvl+0x5d/0x80",
        "RIP: 0010:drawn+0x5/0x10",
        "ata1.00: failed command: READ DMA",
    )
    lines = (line(text, sequence=number) for number, text in enumerate(texts))
    assert [value_of(one.text) for one in messages_of(answer_of(*lines))] == [
        "BUG: Bad page state in process kworker/u8:0 pfn:20400",
        texts[-1],
    ]
    (first,) = messages_of(answer_of(line("Call Trace:")))
    assert value_of(first.text) == "Call Trace:"


def test_long_and_broken_texts_are_one_line() -> None:
    (found,) = messages_of(answer_of(line(f"a\nb\t {'x' * 2 * LONGEST_TEXT}")))
    text = value_of(found.text)
    assert text.startswith("a b xxx")
    assert text.endswith("x [...]")
    assert len(text) == LONGEST_TEXT + 6


def test_too_many_messages_are_counted() -> None:
    lines = [line("x" * (number + 1), sequence=number) for number in range(MOST_MESSAGES + 3)]
    raw = answer_of(*lines, left_out=4, lost=2)
    assert len(messages_of(raw)) == MOST_MESSAGES
    (place,) = value_of(find_log(log(raw)))
    found = read_log(log(raw), place)
    assert value_of(found.records) == MOST_MESSAGES + 3
    assert value_of(found.lost_records) == 2
    assert value_of(found.left_out_records) == 3 + 4


def test_addresses_and_serials_are_personal() -> None:
    text = "wlan0: aa:bb:cc:dd:ee:0f left, SerialNumber: FPX0014, S/N=91. SerialNumber=3"
    (found,) = messages_of(answer_of(line(text)))
    assert value_of(found.identifiers) == ("aa:bb:cc:dd:ee:0f", "FPX0014", "91")
    uuid = "8c0f2a56-41d3-4e7b-9a20-5be16c7d3f04"
    assert identifiers_in(f"disk {uuid}") == (uuid,)


@pytest.mark.parametrize("number", [errno.EPERM, errno.EACCES])
def test_a_log_without_rights_is_unreadable_not_empty(number: int) -> None:
    for find in (find_log, find_messages):
        listing = find(log(number))
        assert isinstance(listing, Unreadable)
        assert listing.advice == "run as root"


def test_an_answer_that_is_none_is_unreadable() -> None:
    listing = find_messages(log(b"no answer"))
    assert isinstance(listing, Unreadable)
    assert listing.error == "MALFORMED"
    for place in ("kernel-log/1", "elsewhere"):
        with pytest.raises(LookupError):
            read_message(log(b"no answer"), place)


def test_an_empty_log_is_a_log() -> None:
    assert value_of(find_log(log(answer_of()))) == ("kernel-log",)
    assert value_of(find_messages(log(answer_of()))) == ()


def test_crashes_are_named_and_never_opened() -> None:
    tree = log(answer_of())
    assert value_of(read_crashes(tree)) == ("dmesg-efi-170000000001001",)
    assert not any(path.startswith("sys/fs/pstore/") for path in tree.asked)


def test_a_store_that_is_not_mounted_says_nothing() -> None:
    tree = log(answer_of(), {"proc/mounts": b"proc /proc proc rw 0 0\n"})
    found = read_crashes(tree)
    assert isinstance(found, Unreadable)
    assert found.error == "NOT_MOUNTED"
    assert isinstance(read_crashes(log(answer_of(), {"proc/mounts": errno.EACCES})), Unreadable)
    closed = log(answer_of(), {"sys/fs/pstore": errno.EACCES})
    assert isinstance(read_crashes(closed), Unreadable)


@given(st.lists(records, max_size=4))
def test_any_records_are_messages(drawn: list[LogRecord]) -> None:
    raw = answer_of(*drawn)
    for message in messages_of(raw):
        assert value_of(message.times) >= 1
        assert "\n" not in value_of(message.text)


def test_a_redacted_report_keeps_the_message_without_its_address() -> None:
    """The address is no attribute of any other device: the message itself names it personal."""
    raw = answer_of(line("wlan0: deauthenticated from 3c:1a:9f:31:08:41", level=3))
    tree = draw_notebook(HEALTHY)
    report = judge(record(replace(tree, answers={**tree.answers, QUESTION: raw})))
    (message,) = report.inventory.section("kernel_message").devices
    assert isinstance(message, KernelMessage)
    assert "3c:1a:9f:31:08:41" in render_json(report).decode()
    shown = render_json(redact(report)).decode()
    assert "3c:1a:9f:31:08:41" not in shown
    assert "wlan0: deauthenticated from ****8:41" in shown
