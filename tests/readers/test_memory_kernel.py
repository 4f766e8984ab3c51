"""The kernel's blocks of memory: which are online, and what fails."""

import errno

import pytest

from closeout.model.reading import Absent, Unreadable, Value
from closeout.readers.memory_kernel import read_available
from strategies.drawn_memory import (
    SOUND,
    drawn,
    memory_of,
)
from strategies.drawn_tree import Content, DrawnTree

BLOCKS = "sys/devices/system/memory"


def with_blocks(*states: Content, **files: Content) -> DrawnTree:
    drawn_states = {f"{BLOCKS}/memory{at}/state": state for at, state in enumerate(states)}
    return drawn(*SOUND, **{f"{BLOCKS}/block_size_bytes": b"8000000\n", **drawn_states, **files})


def test_blocks_that_are_online_are_summed_up() -> None:
    """The size is hexadecimal without `0x`."""
    memory = memory_of(with_blocks(b"online\n", b"offline\n", b"online\n", b"going-offline\n"))
    sources = (f"{BLOCKS}/block_size_bytes", BLOCKS)
    assert memory.online_bytes == Value(value=2 << 27, sources=sources)


def test_a_block_that_went_away_is_not_counted() -> None:
    memory = memory_of(with_blocks(b"online\n", errno.ENOENT))
    assert isinstance(memory.online_bytes, Value)
    assert memory.online_bytes.value == 1 << 27


@pytest.mark.parametrize(
    ("files", "state"),
    [
        ({f"{BLOCKS}/memory0/state": errno.EIO}, Unreadable),
        ({f"{BLOCKS}/block_size_bytes": b"0x8000000\n"}, Unreadable),
        ({f"{BLOCKS}/block_size_bytes": errno.ENOENT}, Absent),
        ({f"{BLOCKS}/memory0/state": b"offline\n"}, Absent),
        ({BLOCKS: errno.EACCES}, Unreadable),
    ],
)
def test_blocks_that_cannot_be_told(files: dict[str, Content], state: type) -> None:
    assert isinstance(memory_of(with_blocks(b"online\n", **files)).online_bytes, state)


def test_available_memory_is_in_bytes() -> None:
    tree = DrawnTree(files={"proc/meminfo": b"MemTotal: 9 kB\nMemAvailable:  1234 kB\n"})
    found = read_available(tree)
    assert isinstance(found, Value)
    assert found.value == 1234 * 1024


@pytest.mark.parametrize("content", [b"", b"MemAvailable: some kB\n", b"MemTotal: 9 kB\n"])
def test_available_memory_that_is_not_told(content: bytes) -> None:
    assert not isinstance(read_available(DrawnTree(files={"proc/meminfo": content})), Value)
