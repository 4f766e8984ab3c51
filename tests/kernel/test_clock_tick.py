"""Whether a clock runs, watched with a clock of our own that stands in for the real one."""

import errno

import pytest

from closeout.decode.clock_tick import ClockTick, decode_tick
from closeout.kernel.clock_tick import LONGEST_WAIT, PAUSE, is_tick_question, watch_clock
from closeout.kernel.failure import ReadError
from closeout.kernel.live import LiveTree

QUESTION = "clock tick rtc0"
MILLISECOND = 1_000_000


class Machine:
    """A count that only sleeping moves on, and a clock that shows its seconds from `start`."""

    def __init__(self, start: int, *, runs: bool = True) -> None:
        self.now = 300 * MILLISECOND
        self.start = start
        self.runs = runs
        self.asked: set[str] = set()

    def read(self, path: str) -> bytes:
        """What the clock shows now."""
        self.asked.add(path)
        passed = self.now // 1_000_000_000 if self.runs else 0
        return b"%d\n" % (self.start + passed)

    def sleep(self, seconds: float) -> None:
        """Time passes."""
        self.now += int(seconds * 1_000_000_000)

    def watch(self) -> ClockTick:
        """What the live source would answer."""
        return decode_tick(watch_clock(self.read, QUESTION, lambda: self.now, self.sleep))


def test_the_second_is_caught_when_it_changes() -> None:
    machine = Machine(1795165840)
    tick = machine.watch()
    assert (tick.shown, tick.ticked) == (1795165841, True)
    assert 1_000_000 <= tick.microseconds <= 1_000_000 + PAUSE * 1_000_000
    assert machine.asked == {"sys/class/rtc/rtc0/since_epoch"}


def test_a_clock_that_stands_is_given_up_in_time() -> None:
    machine = Machine(946684800, runs=False)
    tick = machine.watch()
    assert (tick.shown, tick.ticked) == (946684800, False)
    assert machine.now <= 300 * MILLISECOND + LONGEST_WAIT + PAUSE * 1_000_000_000


@pytest.mark.parametrize("content", [b"", b"soon\n", b"-5\n"])
def test_what_is_no_number_of_seconds_stands(content: bytes) -> None:
    machine = Machine(0)
    tick = decode_tick(watch_clock(lambda _: content, QUESTION, lambda: machine.now, machine.sleep))
    assert (tick.shown, tick.ticked) == (0, False)


def test_a_clock_that_refuses_is_told_with_its_errno() -> None:
    def refuse(path: str) -> bytes:
        raise ReadError(path, errno.EINVAL)

    with pytest.raises(ReadError) as caught:
        watch_clock(refuse, QUESTION)
    assert caught.value.code == "EINVAL"


def test_the_live_source_watches(tmp_path_factory: pytest.TempPathFactory) -> None:
    root = tmp_path_factory.mktemp("unit")
    folder = root / "sys/class/rtc/rtc0"
    folder.mkdir(parents=True)
    (folder / "since_epoch").write_bytes(b"77\n")
    tick = decode_tick(LiveTree(str(root)).ask(QUESTION))
    assert (tick.shown, tick.ticked) == (77, False)
    with pytest.raises(ReadError) as caught:
        LiveTree(str(root)).ask("clock tick rtc1")
    assert caught.value.code == "ENOENT"


def test_other_questions_are_not_about_a_clock() -> None:
    assert is_tick_question(QUESTION)
    assert not is_tick_question("clock tick ../x")
