"""Messages sorted by known lines, and what the log amounts to."""

from closeout.judge.kernel_log import MOST_TEXTS, find_rule, sort_messages
from closeout.model.device import Device, Position
from closeout.model.kernel_log import KernelLog, KernelMessage
from closeout.model.log_rules import NO_RULES, LogRule, LogRules
from closeout.model.reading import Absent, Unreadable, Value
from strategies.devices import DENIED, device, inventory

RULES = LogRules(
    harmless=(LogRule(pattern="dummy regulator$", meaning="no supply is described"),),
    trouble=(
        LogRule(pattern=r"nvme[0-9]: .*timeout", meaning="reseat the drive"),
        LogRule(pattern="regulator", meaning="never reached"),
    ),
)
WAITING = Unreadable(error="NOT_SORTED", advice="sort", sources=("kernel log",))
LOG = device(
    "kernel_log", troubles=WAITING, outside_troubles=WAITING, unexplained=WAITING, harmless=WAITING
)


def message(text: object, position: Position = Position.INTERNAL, **more: object) -> Device:
    return device(
        "kernel_message", place=f"kernel-log/{text}", position=position, text=text, **more
    )


def sorted_out(*messages: Device) -> tuple[KernelLog, list[KernelMessage]]:
    whole = sort_messages(inventory(LOG, *messages), RULES)
    (log,) = whole.section("kernel_log").devices
    assert isinstance(log, KernelLog)
    found = whole.section("kernel_message").devices
    return log, [one for one in found if isinstance(one, KernelMessage)]


def values(log: KernelLog) -> dict[str, object]:
    names = ("troubles", "outside_troubles", "unexplained", "harmless")
    readings = {name: getattr(log, name) for name in names}
    return {name: found.value for name, found in readings.items() if isinstance(found, Value)}


def test_every_message_goes_where_it_belongs() -> None:
    log, messages = sorted_out(
        message("nvme nvme0: I/O 5 timeout", times=3, about_device="sys/devices/x/nvme0"),
        message("nvme nvme1: I/O 5 timeout", Position.EXTERNAL, times=1),
        message("st: using dummy regulator"),
        message("never seen", times=2),
    )
    assert values(log) == {
        "troubles": ("nvme0: nvme nvme0: I/O 5 timeout (3 times; reseat the drive)",),
        "outside_troubles": ("kernel: nvme nvme1: I/O 5 timeout (reseat the drive)",),
        "unexplained": ("kernel: never seen (2 times)",),
        "harmless": ("kernel: st: using dummy regulator (no supply is described)",),
    }
    natures = [one.nature.value for one in messages if isinstance(one.nature, Value)]
    assert natures == ["trouble", "trouble", "harmless", "unexplained"]
    assert isinstance(messages[-1].explanation, Absent)
    assert messages[0].explanation == Value(value="reseat the drive", sources=("drawn",))


def test_a_device_of_unknown_position_counts_as_inside() -> None:
    log, _ = sorted_out(message("nvme nvme0: I/O 5 timeout", Position.UNKNOWN))
    assert values(log)["troubles"] == ("kernel: nvme nvme0: I/O 5 timeout (reseat the drive)",)


def test_a_log_without_messages_has_nothing_to_tell() -> None:
    log, _ = sorted_out()
    assert values(log) == dict.fromkeys(
        ("troubles", "outside_troubles", "unexplained", "harmless"), ()
    )


def test_a_message_whose_text_is_not_known_is_not_sorted() -> None:
    _, (found,) = sorted_out(message(DENIED, nature=WAITING))
    assert found.nature == WAITING


def test_a_log_that_could_not_be_read_stays_unread() -> None:
    whole = inventory(kernel_log=DENIED, kernel_message=DENIED)
    assert sort_messages(whole, RULES) == whole


def test_without_rules_everything_is_unexplained() -> None:
    whole = sort_messages(inventory(LOG, message("anything")), NO_RULES)
    (found,) = whole.section("kernel_message").devices
    assert isinstance(found, KernelMessage)
    assert found.nature == Value(value="unexplained", sources=("drawn",))


def test_the_first_rule_counts() -> None:
    first, second = (LogRule(pattern="a", meaning=name) for name in ("first", "second"))
    assert find_rule("xay", (first, second)) is first
    assert find_rule("xy", (first, second)) is None


def test_a_long_list_is_cut_and_says_so() -> None:
    log, _ = sorted_out(*(message(f"line {number}") for number in range(MOST_TEXTS + 3)))
    unexplained = values(log)["unexplained"]
    assert isinstance(unexplained, tuple)
    assert unexplained[-1] == "and 3 more messages"
    assert len(unexplained) == MOST_TEXTS + 1
