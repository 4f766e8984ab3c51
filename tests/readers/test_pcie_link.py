"""Links of PCI Express: both ends, ports that face up or down, and what a link does not tell."""

import errno

import pytest

from closeout.model.reading import Absent, Unreadable, Value
from closeout.readers.pcie_link import PcieLink, read_link
from strategies.drawn_tree import Content, DrawnTree

ROOT = "sys/devices/pci0000:00/0000:00:1c.0"
UPSTREAM = f"{ROOT}/0000:02:00.0"
DOWNSTREAM = f"{UPSTREAM}/0000:03:04.0"
CARD = f"{DOWNSTREAM}/0000:05:00.0"
INTEGRATED = "sys/devices/pci0000:00/0000:00:02.0"


def end(place: str, code: str, now: tuple[str, str], best: tuple[str, str]) -> dict[str, Content]:
    return {
        f"{place}/class": f"0x{code}\n".encode(),
        f"{place}/current_link_speed": f"{now[0]}\n".encode(),
        f"{place}/current_link_width": f"{now[1]}\n".encode(),
        f"{place}/max_link_speed": f"{best[0]}\n".encode(),
        f"{place}/max_link_width": f"{best[1]}\n".encode(),
    }


GEN1, GEN3, GEN4 = "2.5 GT/s PCIe", "8.0 GT/s PCIe", "16.0 GT/s PCIe"
FILES = {
    **end(ROOT, "060400", (GEN3, "4"), (GEN4, "4")),
    **end(UPSTREAM, "060400", (GEN3, "4"), (GEN3, "8")),
    **end(DOWNSTREAM, "060400", (GEN1, "1"), (GEN3, "2")),
    **end(CARD, "028000", (GEN1, "1"), (GEN4, "1")),
    f"{INTEGRATED}/class": b"0x030000\n",
}


def link(place: str, **changes: Content) -> PcieLink:
    changed = {f"{place}/{name}": content for name, content in changes.items()}
    return read_link(DrawnTree(files={**FILES, **changed}), place)


@pytest.mark.parametrize(
    ("place", "possible"),
    [
        (ROOT, (GEN3, 4)),
        (UPSTREAM, (GEN3, 4)),
        (DOWNSTREAM, (GEN3, 1)),
        (CARD, (GEN3, 1)),
    ],
)
def test_a_link_can_what_both_its_ends_can(place: str, possible: tuple[str, int]) -> None:
    found = link(place)
    assert isinstance(found.speed_possible, Value)
    assert isinstance(found.width_possible, Value)
    assert (found.speed_possible.value, found.width_possible.value) == possible
    assert isinstance(found.narrow, Value)
    assert found.narrow.value is False


def test_a_slow_link_is_told_and_is_not_narrow() -> None:
    found = link(CARD)
    assert (found.speed, found.narrow) == (
        Value(value=GEN1, sources=(f"{CARD}/current_link_speed",)),
        Value(
            value=False,
            sources=(
                f"{CARD}/current_link_width",
                f"{CARD}/max_link_width",
                f"{DOWNSTREAM}/max_link_width",
            ),
        ),
    )


def test_both_ends_of_a_link_see_its_lost_lanes() -> None:
    for place in (ROOT, UPSTREAM):
        narrow = link(place, current_link_width=b"2\n").narrow
        assert isinstance(narrow, Value)
        assert narrow.value is True


def test_a_port_of_a_bus_that_a_function_opens_faces_down() -> None:
    """A bridge of drives is a function with a host bridge of its own below it."""
    port = f"{INTEGRATED}/pci10000:e0/10000:e0:06.0"
    drive = f"{port}/10000:e1:00.0"
    files = {
        **end(port, "060400", (GEN3, "4"), (GEN4, "4")),
        **end(drive, "010802", (GEN3, "4"), (GEN3, "4")),
    }
    for place in (port, drive):
        found = read_link(DrawnTree(files=files), place)
        assert isinstance(found.narrow, Value)
        assert found.narrow.value is False
        assert isinstance(found.speed_possible, Value)
        assert found.speed_possible.value == GEN3


def test_an_empty_port_has_no_link() -> None:
    files = {path: content for path, content in FILES.items() if UPSTREAM not in path}
    found = read_link(DrawnTree(files=files), ROOT)
    assert found.width == Absent(reason="nothing is behind this port", sources=(ROOT,))
    assert found.narrow == found.width


def test_a_function_of_the_root_complex_has_no_link() -> None:
    found = link(INTEGRATED)
    assert isinstance(found.speed, Absent)
    assert found.speed.reason == "it is part of the root complex: no link"


def test_a_device_without_the_files_has_no_link() -> None:
    files: dict[str, Content] = {f"{ROOT}/class": b"0x060400\n", f"{UPSTREAM}/class": b"0x020000\n"}
    found = read_link(DrawnTree(files=files), UPSTREAM)
    assert isinstance(found.width, Absent)
    assert isinstance(found.narrow, Absent)


@pytest.mark.parametrize(
    ("name", "content", "error"),
    [
        ("current_link_width", b"0\n", "UNKNOWN"),
        ("current_link_width", b"63\n", "MALFORMED"),
        ("max_link_width", b"255\n", "MALFORMED"),
        ("max_link_width", errno.EINVAL, "EINVAL"),
    ],
)
def test_a_width_that_is_none_leaves_the_link_unjudged(
    name: str, content: Content, error: str
) -> None:
    narrow = link(CARD, **{name: content}).narrow
    assert isinstance(narrow, Unreadable)
    assert narrow.error == error


@pytest.mark.parametrize(
    ("content", "error"), [(b"Unknown\n", "UNKNOWN"), (b"fast\n", "MALFORMED")]
)
def test_a_speed_that_is_none_is_unreadable(content: bytes, error: str) -> None:
    speed = link(CARD, current_link_speed=content).speed
    assert isinstance(speed, Unreadable)
    assert speed.error == error


@pytest.mark.parametrize("failing", [f"{ROOT}/class", ROOT])
def test_a_port_that_cannot_be_looked_behind_is_unreadable(failing: str) -> None:
    found = read_link(DrawnTree(files={**FILES, failing: errno.EIO}), ROOT)
    assert isinstance(found.narrow, Unreadable)
    assert found.narrow.sources == (failing,)
