"""The control page: what is encoded decodes again, and what is written into memory arrives."""

from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from notebook.control_page import (
    BASE,
    MAILBOX,
    MOST_BATTERIES,
    PAGE_LENGTH,
    SEEN,
    SEQUENCE,
    SIZE,
    ControlPage,
    Event,
    LiveBattery,
    control_page_of,
    decikelvin,
    decode,
    encode,
    events_between,
    is_taken,
    words,
    write_control_page,
)
from notebook.description import load_notebook

BYTES = st.integers(0, 0xFF)
NUMBERS = st.integers(0, 0xFFFF_FFFF)
BATTERIES = st.builds(
    LiveBattery,
    present=st.booleans(),
    state=BYTES,
    rate_mw=NUMBERS,
    remaining_mwh=NUMBERS,
    millivolts=NUMBERS,
    design_mwh=NUMBERS,
    full_mwh=NUMBERS,
    cycles=NUMBERS,
)
PAGES = st.builds(
    ControlPage,
    notify=BYTES.map(Event),
    online=st.booleans(),
    lid_open=st.booleans(),
    partner=st.booleans(),
    decikelvin=NUMBERS,
    rpm=NUMBERS,
    lux=NUMBERS,
    batteries=st.lists(BATTERIES, max_size=MOST_BATTERIES).map(tuple),
)
FEN = control_page_of(load_notebook("fen-14"))


@pytest.fixture
def ram(tmp_path: Path) -> Path:
    """A guest's memory, all zeros and none of it on disk."""
    file = tmp_path / "ram"
    with file.open("wb") as memory:
        memory.truncate(BASE + SIZE)
    return file


@given(PAGES)
def test_what_is_encoded_decodes_to_itself(page: ControlPage) -> None:
    assert decode(encode(page), len(page.batteries)) == page


def test_every_byte_belongs_to_one_word() -> None:
    told = words(MOST_BATTERIES)
    taken = [byte for word in told for byte in range(word.offset, word.offset + word.width)]
    assert len(taken) == len(set(taken))
    assert max(taken) < PAGE_LENGTH <= MAILBOX - BASE
    assert len({word.name for word in told}) == len(told)
    assert all(len(word.name) == 4 for word in told)


def test_a_page_without_magic_is_none() -> None:
    with pytest.raises(ValueError, match="no control page: it begins with 00000000"):
        decode(bytes(PAGE_LENGTH), 0)


def test_a_value_too_large_is_refused() -> None:
    with pytest.raises(OverflowError):
        encode(replace(FEN, rpm=1 << 32))


def test_a_bay_too_many_is_refused() -> None:
    with pytest.raises(ValueError, match="5 batteries"):
        encode(replace(FEN, batteries=FEN.batteries * 5))


def test_the_description_is_what_the_page_says() -> None:
    assert replace(FEN, batteries=()) == ControlPage(
        online=True, lid_open=True, partner=True, decikelvin=3142, rpm=2215, lux=312
    )
    assert FEN.batteries == (
        LiveBattery(
            present=True,
            state=0,
            rate_mw=0,
            remaining_mwh=39280,
            millivolts=12140,
            design_mwh=52000,
            full_mwh=49100,
            cycles=61,
        ),
    )


@pytest.mark.parametrize(("celsius", "told"), [(0.0, 2732), (41.0, 3142), (-10.05, 2632)])
def test_temperatures(celsius: float, told: int) -> None:
    assert decikelvin(celsius) == told


def test_written_into_memory_it_is_the_page(ram: Path) -> None:
    write_control_page(ram, FEN)
    assert _page_in(ram) == encode(FEN, sequence=1)


def test_each_writing_has_another_number_and_waits_to_be_taken(ram: Path) -> None:
    assert is_taken(ram)
    for number in (*range(1, 256), 0, 1):
        write_control_page(ram, FEN)
        assert _page_in(ram)[SEQUENCE] == number
        assert not is_taken(ram)
        _take(ram, number)
        assert is_taken(ram)


def test_only_the_page_is_written(ram: Path) -> None:
    with ram.open("r+b") as memory:
        memory.seek(BASE - 1)
        memory.write(b"\xaa" * (PAGE_LENGTH + 2))
    write_control_page(ram, FEN)
    with ram.open("rb") as memory:
        memory.seek(BASE - 1)
        raw = memory.read(PAGE_LENGTH + 2)
    assert (raw[0], raw[1 + SEEN], raw[-1]) == (0xAA, 0xAA, 0xAA)


@pytest.mark.parametrize(
    ("after", "raised"),
    [
        (FEN, Event.NONE),
        (replace(FEN, lid_open=False), Event.LID),
        (replace(FEN, online=False, partner=False), Event.ADAPTER | Event.TYPE_C),
        (replace(FEN, lux=3), Event.LIGHT),
        (replace(FEN, rpm=0, decikelvin=3500), Event.NONE),
        (
            replace(FEN, batteries=(replace(FEN.batteries[0], state=1, rate_mw=9000),)),
            Event.BATTERY_STATE,
        ),
        (
            replace(FEN, batteries=(replace(FEN.batteries[0], present=False),)),
            Event.BATTERY_STATE | Event.BATTERY_INFO,
        ),
        (
            replace(FEN, batteries=(replace(FEN.batteries[0], full_mwh=29600),)),
            Event.BATTERY_STATE | Event.BATTERY_INFO,
        ),
    ],
)
def test_events_that_a_change_raises(after: ControlPage, raised: Event) -> None:
    assert events_between(FEN, after) == raised


def _page_in(ram: Path) -> bytes:
    with ram.open("rb") as memory:
        memory.seek(BASE)
        return memory.read(PAGE_LENGTH)


def _take(ram: Path, number: int) -> None:
    with ram.open("r+b") as memory:
        memory.seek(BASE + SEEN)
        memory.write(bytes((number,)))
