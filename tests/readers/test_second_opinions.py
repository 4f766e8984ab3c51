"""What libraries tell otherwise, on a drawn machine; names and numbers are invented."""

import errno
from collections.abc import Callable
from dataclasses import replace

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from closeout.kernel.failure import ReadError, Reason
from closeout.kernel.opinions import QUESTIONS
from closeout.kernel.question_names import (
    BATTERY,
    DISKS,
    FANS,
    INTERFACES,
    MEMORY,
    PROCESSOR,
    TEMPERATURES,
)
from closeout.kernel.recorded import RecordedTree
from closeout.model.device import Position
from closeout.model.reading import Absent, Reading, Unreadable, Value
from closeout.model.second_opinions import SecondOpinions
from closeout.readers.second_opinions import (
    PLACE,
    READERS,
    find_second_opinions,
    read_second_opinions,
)
from strategies.agreed_opinions import ANSWERS, CHIP, CPU, FILES, MAC, MODEL, PACK, machine
from strategies.attribute_files import contents
from strategies.drawn_opinions import (
    draw_charge,
    draw_disk,
    draw_disks,
    draw_interfaces,
    draw_memory,
    draw_processor,
    draw_sensors,
)
from strategies.drawn_tree import Content, DrawnTree

Opinion = Reading[tuple[str, ...]]


def psutil_of(tree: DrawnTree) -> Opinion:
    return read_second_opinions(tree, PLACE).psutil_disagreements


def pyudev_of(tree: DrawnTree) -> Opinion:
    return read_second_opinions(tree, PLACE).pyudev_disagreements


def cpuinfo_of(tree: DrawnTree) -> Opinion:
    return read_second_opinions(tree, PLACE).cpuinfo_disagreements


def readings_of(found: SecondOpinions) -> tuple[Opinion, ...]:
    return (found.psutil_disagreements, found.pyudev_disagreements, found.cpuinfo_disagreements)


OPINIONS: dict[str, Callable[[DrawnTree], Opinion]] = {
    "psutil": psutil_of,
    "pyudev": pyudev_of,
    "cpuinfo": cpuinfo_of,
}
"""What is compared with each library, by its name as it is imported."""


def texts_of(reading: Opinion) -> tuple[str, ...]:
    assert isinstance(reading, Value), reading
    return reading.value


def test_there_is_one_for_a_machine() -> None:
    listing = find_second_opinions(machine())
    assert listing == Value(value=(PLACE,), sources=("sys/class",))
    found = read_second_opinions(machine(), PLACE)
    assert (found.place, found.position) == (PLACE, Position.INTERNAL)
    assert [reader.kind for reader in READERS] == ["second_opinions"]


@pytest.mark.parametrize(
    "tree", [DrawnTree(), DrawnTree(folders=("sys/class",)), DrawnTree(files={"sys/class": 13})]
)
def test_there_is_none_where_no_machine_is_seen(tree: DrawnTree) -> None:
    assert isinstance(find_second_opinions(tree), Absent | Unreadable)


def test_libraries_that_agree_tell_nothing_otherwise() -> None:
    psutil, pyudev = psutil_of(machine()), pyudev_of(machine())
    cpuinfo = cpuinfo_of(machine())
    assert texts_of(psutil) == ()
    assert texts_of(pyudev) == ()
    assert texts_of(cpuinfo) == ()
    assert {PROCESSOR, "proc/cpuinfo"} <= set(cpuinfo.sources)
    assert {MEMORY, INTERFACES, BATTERY, "proc/meminfo"} < set(psutil.sources)
    assert {"sys/class/net/wlan0/address", f"{PACK}/capacity"} < set(psutil.sources)
    assert {DISKS, "run/udev/data/b8:0"} <= set(pyudev.sources)


def test_every_question_of_the_kernel_side_is_put() -> None:
    tree = machine()
    read_second_opinions(tree, PLACE)
    assert set(QUESTIONS) <= set(tree.asked)


@pytest.mark.parametrize(
    ("question", "answer", "text"),
    [
        (
            MEMORY,
            draw_memory(7999999),
            "memory: ours 8192000000 bytes, psutil 8191998976 bytes",
        ),
        (
            INTERFACES,
            draw_interfaces({"wlan0": "3c:1a:9e:40:62:d8"}),
            "wlan0: ours '3c:1a:9e:40:62:d7', psutil '3c:1a:9e:40:62:d8'",
        ),
        (INTERFACES, b"{}", "wlan0: ours '3c:1a:9e:40:62:d7', psutil none"),
        (
            INTERFACES,
            draw_interfaces({"wlan0": MAC, "eth7": "3c:1a:9e:40:62:d9"}),
            "eth7: ours none, psutil '3c:1a:9e:40:62:d9'",
        ),
        (
            TEMPERATURES,
            draw_sensors(drawn={"": 57.0}),
            "drawn temp1: ours 41850, psutil 57000",
        ),
        (
            TEMPERATURES,
            draw_sensors(drawn={}),
            "drawn temp1: ours 41850, psutil none",
        ),
        (FANS, draw_sensors(drawn={"": 65535}), "drawn fan1: ours 2215, psutil 65535"),
        (BATTERY, draw_charge(82.5), "charge: ours 80 %, psutil 82.5 %"),
        (BATTERY, draw_charge(0.0), "charge: ours 80 %, psutil 0.0 %"),
    ],
)
def test_what_psutil_tells_otherwise_is_named(question: str, answer: bytes, text: str) -> None:
    assert texts_of(psutil_of(machine(answers={question: answer}))) == (text,)


@pytest.mark.parametrize("percent", [78.0, 79.6, 82.0])
def test_a_charge_may_move_by_two_percent(percent: float) -> None:
    assert texts_of(psutil_of(machine(answers={BATTERY: draw_charge(percent)}))) == ()


@pytest.mark.parametrize(("heat", "speed"), [(27.0, 1715), (56.85, 2715)])
def test_heat_and_speed_may_move_between_two_readings(heat: float, speed: int) -> None:
    answers: dict[str, Content | None] = {
        TEMPERATURES: draw_sensors(drawn={"": heat}),
        FANS: draw_sensors(drawn={"": speed}),
    }
    assert texts_of(psutil_of(machine(answers=answers))) == ()


def test_a_chip_that_one_alone_tells_is_not_compared() -> None:
    """A zone has no chip here; the copy that another makes has a name of its own."""
    answers: dict[str, Content | None] = {
        TEMPERATURES: draw_sensors(other={"": 20.0}),
        FANS: draw_sensors(),
    }
    assert texts_of(psutil_of(machine(answers=answers))) == ()


def test_an_address_is_the_same_in_either_case() -> None:
    tree = machine({"sys/class/net/wlan0/address": MAC.upper().encode() + b"\n"})
    assert texts_of(psutil_of(tree)) == ()


def test_a_short_address_is_not_compared() -> None:
    """The library fills up the four octets of a tunnel."""
    answer = draw_interfaces({"wlan0": MAC, "sit0": "00:00:00:00:00:00"})
    tree = machine({"sys/class/net/sit0/address": b"00:00:00:00\n"}, {INTERFACES: answer})
    assert texts_of(psutil_of(tree)) == ()


@pytest.mark.parametrize(
    ("files", "answer"),
    [
        ({"sys/class/power_supply/BAT1/type": b"Battery\n"}, draw_charge(7.0)),
        ({f"{PACK}/present": b"0\n"}, draw_charge(7.0)),
        ({f"{PACK}/capacity": None}, draw_charge(7.0)),
        ({}, draw_charge(None)),
        ({}, errno.ENOENT),
    ],
    ids=["two packs", "empty bay", "no capacity", "psutil sees none", "no class for psutil"],
)
def test_a_charge_without_a_counterpart_is_not_compared(
    files: dict[str, Content | None], answer: Content
) -> None:
    assert texts_of(psutil_of(machine(files, {BATTERY: answer}))) == ()


@pytest.mark.parametrize(
    ("answer", "text"),
    [
        (
            draw_disks(draw_disk("sda", "Larch_40", "LR4472")),
            "sda ID_SERIAL_SHORT: ours 'LR4471', pyudev 'LR4472'",
        ),
        (
            draw_disks(draw_disk("sda", None, "LR4471")),
            "sda ID_MODEL: ours 'Larch_40', pyudev none",
        ),
        (
            draw_disks(draw_disk("sda", "Larch_40", "LR4471"), draw_disk("sdb", None, "LR9")),
            "sdb ID_SERIAL_SHORT: ours none, pyudev 'LR9'",
        ),
    ],
)
def test_what_pyudev_tells_otherwise_is_named(answer: bytes, text: str) -> None:
    assert texts_of(pyudev_of(machine(answers={DISKS: answer}))) == (text,)


def test_a_disk_that_pyudev_leaves_out_is_named_with_all_that_we_know() -> None:
    assert texts_of(pyudev_of(machine(answers={DISKS: b"[]"}))) == (
        "sda ID_SERIAL_SHORT: ours 'LR4471', pyudev none",
        "sda ID_MODEL: ours 'Larch_40', pyudev none",
    )


def test_a_name_of_pyudev_s_own_is_never_asked_for_as_a_path() -> None:
    answer = draw_disks(draw_disk("../../etc/shadow", "x", None))
    tree = machine({"sys/block/sda/dev": None}, {DISKS: answer})
    assert len(texts_of(pyudev_of(tree))) == 1
    assert not any("shadow" in question for question in tree.asked)


def test_disks_of_which_neither_tells_are_no_agreement() -> None:
    answer = draw_disks(draw_disk("sda", None, None))
    reading = pyudev_of(machine({"run/udev/data/b8:0": None}, {DISKS: answer}))
    assert isinstance(reading, Absent)


def test_devices_without_hardware_are_not_asked_about() -> None:
    tree = machine()
    read_second_opinions(tree, PLACE)
    assert not any("loop0" in question for question in tree.asked)


def test_what_cpuinfo_tells_otherwise_is_named() -> None:
    tree = machine(answers={PROCESSOR: draw_processor("Calder C7 4400")})
    text = "processor: ours 'Calder C5 2100', py-cpuinfo 'Calder C7 4400'"
    assert texts_of(cpuinfo_of(tree)) == (text,)


def test_padding_of_a_model_is_no_difference() -> None:
    """The instruction fills up to 48 bytes; some processors put spaces in front."""
    tree = machine(answers={PROCESSOR: draw_processor(f"   {MODEL} \0\0")})
    assert texts_of(cpuinfo_of(tree)) == ()


def test_the_library_runs_on_any_of_two_packages() -> None:
    files: dict[str, Content | None] = {
        f"{CPU}/online": b"0-1\n",
        f"{CPU}/cpu1/topology/physical_package_id": b"1\n",
        "proc/cpuinfo": b"processor: 0\nmodel name: Other\n\n"
        b"processor: 1\nmodel name: Calder C5 2100\n",
    }
    assert texts_of(cpuinfo_of(machine(files))) == ()


@pytest.mark.parametrize(
    ("files", "answer"),
    [({"proc/cpuinfo": b"processor: 0\n"}, draw_processor(MODEL)), ({}, draw_processor(""))],
    ids=["the kernel tells no model", "the processor tells none"],
)
def test_a_model_without_a_counterpart_is_not_compared(
    files: dict[str, Content | None], answer: bytes
) -> None:
    assert isinstance(cpuinfo_of(machine(files, {PROCESSOR: answer})), Absent)


@pytest.mark.parametrize("library", OPINIONS)
def test_an_absent_library_is_unread_and_costs_the_others_nothing(library: str) -> None:
    gone: dict[str, Content | None] = {one: None for one in ANSWERS if one.startswith(library)}
    tree = machine(answers=gone)
    readings = {name: opinion_of(tree) for name, opinion_of in OPINIONS.items()}
    absent = readings.pop(library)
    assert isinstance(absent, Unreadable)
    assert absent.error == "NOT_OFFERED"
    assert [texts_of(reading) for reading in readings.values()] == [(), ()]


def test_an_older_recording_says_so() -> None:
    found = read_second_opinions(RecordedTree({}), PLACE)
    for reading in readings_of(found):
        assert isinstance(reading, Unreadable)
        assert reading.error == "NOT_RECORDED"


@pytest.mark.parametrize("question", QUESTIONS)
@pytest.mark.parametrize("raw", [b"", b"{", b'"text"', b"7", b'{"wlan0": 7}', b"\xff"])
def test_an_answer_that_makes_no_sense_is_malformed(question: str, raw: bytes) -> None:
    reading = OPINIONS[question.partition(" ")[0]](machine(answers={question: raw}))
    assert isinstance(reading, Unreadable)
    assert reading.error == "MALFORMED"
    assert reading.sources == (question,)


def test_a_disagreement_is_told_although_something_else_was_not_read() -> None:
    tree = machine(answers={MEMORY: draw_memory(1), BATTERY: errno.EIO})
    assert len(texts_of(psutil_of(tree))) == 1


@pytest.mark.parametrize(
    ("path", "library"),
    [
        ("proc/meminfo", "psutil"),
        ("sys/class/net", "psutil"),
        ("sys/class/net/wlan0/address", "psutil"),
        ("sys/class/power_supply", "psutil"),
        (f"{PACK}/capacity", "psutil"),
        ("sys/class/hwmon", "psutil"),
        (f"{CHIP}/temp1_input", "psutil"),
        (f"{CHIP}/fan1_input", "psutil"),
        ("sys/class/thermal", "psutil"),
        ("sys/block", "pyudev"),
        ("sys/block/sda/dev", "pyudev"),
        ("run/udev/data/b8:0", "pyudev"),
        (f"{CPU}/online", "cpuinfo"),
        ("proc/cpuinfo", "cpuinfo"),
    ],
)
def test_a_file_of_ours_that_cannot_be_read_leaves_the_agreement_open(
    path: str, library: str
) -> None:
    tree = machine({path: errno.EACCES})
    reading = OPINIONS[library](tree)
    assert isinstance(reading, Unreadable)
    assert reading.error == "EACCES"


def test_without_any_file_of_ours_nothing_is_agreed() -> None:
    found = read_second_opinions(replace(machine(), files={}), PLACE)
    assert all(isinstance(reading, Absent) for reading in readings_of(found))


class Refusing(DrawnTree):
    """Every library is there and every answer fails as the test says."""

    def ask(self, question: str) -> bytes:
        """Never an answer."""
        raise ReadError(question, errno.EIO, Reason.DEADLINE)


def test_a_library_that_hangs_is_told_as_such() -> None:
    reading = psutil_of(Refusing(files=FILES))
    assert isinstance(reading, Unreadable)
    assert reading.error == "DEADLINE"


@settings(suppress_health_check=[HealthCheck.too_slow])
@given(
    files=st.dictionaries(st.sampled_from(sorted(FILES)), contents),
    answers=st.dictionaries(st.sampled_from(sorted(ANSWERS)), contents),
)
def test_any_answer_gives_readings_with_their_sources(
    files: dict[str, Content], answers: dict[str, Content]
) -> None:
    tree = machine({**files}, {**answers})
    found = read_second_opinions(tree, PLACE)
    for reading in readings_of(found):
        assert isinstance(reading, Value | Absent | Unreadable)
        assert reading.sources
