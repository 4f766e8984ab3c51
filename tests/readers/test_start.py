"""How the system was started, and from which build of the stick."""

import errno

import pytest

from closeout.model.reading import Value
from closeout.readers.start import OWN_SYSTEM, build_of, read_start
from strategies.drawn_tree import DrawnTree

LINE = "proc/cmdline"


@pytest.mark.parametrize(
    ("command_line", "medium", "build"),
    [
        (b"quiet closeout.stick=2026.11-1 ro\n", "stick, build 2026.11-1", "2026.11-1"),
        (b"quiet ro\n", OWN_SYSTEM, ""),
    ],
)
def test_the_stick_says_its_build(command_line: bytes, medium: str, build: str) -> None:
    start = read_start(DrawnTree(files={LINE: command_line}))
    assert isinstance(start.medium, Value)
    assert (start.medium.value, build_of(start)) == (medium, build)


def test_what_could_not_be_read_is_no_build() -> None:
    start = read_start(DrawnTree(files={LINE: errno.EACCES}))
    assert not isinstance(start.medium, Value)
    assert build_of(start) == ""
