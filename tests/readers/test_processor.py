"""Processors out of drawn units: packages, threads that are off, counters, and what fails."""

import errno

import pytest

from closeout.model.processor import Processor
from closeout.model.reading import Absent, Reading, Unreadable, Value
from closeout.readers.processor import find_processors, read_processor
from strategies.drawn_tree import Content, DrawnTree

CPUS = "sys/devices/system/cpu"
MODEL = "Calder C5 2100"


def draw(*packages: int, **files: Content) -> DrawnTree:
    """A unit with one thread a core; `packages` are the package of each thread."""
    last = len(packages) - 1
    drawn: dict[str, Content] = {
        f"{CPUS}/{name}": f"0-{last}\n".encode() for name in ("online", "present", "possible")
    }
    blocks = []
    for thread, package in enumerate(packages):
        folder = f"{CPUS}/cpu{thread}"
        drawn[f"{folder}/topology/physical_package_id"] = f"{package}\n".encode()
        drawn[f"{folder}/topology/core_cpus_list"] = f"{thread}\n".encode()
        drawn[f"{folder}/cpufreq/cpuinfo_max_freq"] = b"4200000\n"
        drawn[f"{folder}/thermal_throttle/core_throttle_count"] = b"0\n"
        drawn[f"{folder}/thermal_throttle/package_throttle_count"] = b"0\n"
        blocks.append(f"processor\t: {thread}\nmodel name\t: {MODEL}\nmicrocode\t: 0xf4\n")
    drawn["proc/cpuinfo"] = "\n".join(blocks).encode()
    more = {path.replace("CPUS", CPUS): content for path, content in files.items()}
    return DrawnTree(files={**drawn, **more})


def only(tree: DrawnTree) -> Processor:
    listing = find_processors(tree)
    assert isinstance(listing, Value)
    (place,) = listing.value
    return read_processor(tree, place)


def value_of(reading: Reading[object]) -> object:
    assert isinstance(reading, Value), reading
    return reading.value


def test_one_package() -> None:
    found = only(draw(0, 0, 0, 0))
    assert found.place == "cpu:package.0"
    assert found.label == "package 0"
    assert value_of(found.model) == MODEL
    assert value_of(found.microcode) == "0xf4"
    assert value_of(found.cores) == 4
    assert value_of(found.threads_online) == 4
    assert value_of(found.threads_present) == 4
    assert value_of(found.threads_possible) == 4
    assert value_of(found.maximum_frequency_khz) == 4_200_000
    assert value_of(found.core_throttle_count) == 0
    assert value_of(found.package_throttle_count) == 0


def test_two_threads_share_a_core() -> None:
    files: dict[str, Content] = {
        f"{CPUS}/cpu{thread}/topology/core_cpus_list": shared
        for thread, shared in enumerate((b"0,2\n", b"1,3\n", b"0,2\n", b"1,3\n"))
    }
    found = only(draw(0, 0, 0, 0, **files))
    assert value_of(found.cores) == 2
    assert value_of(found.threads_online) == 4


def test_threads_that_are_off_are_present() -> None:
    tree = draw(0, 0, **{f"{CPUS}/present": b"0-3\n", f"{CPUS}/possible": b"0-7\n"})
    found = only(tree)
    assert value_of(found.threads_online) == 2
    assert value_of(found.threads_present) == 4
    assert value_of(found.threads_possible) == 8
    assert not any("cpu2/" in question or "cpu3/" in question for question in tree.asked)


def test_two_packages_are_two_processors() -> None:
    tree = draw(0, 0, 2)
    assert value_of(find_processors(tree)) == ("cpu:package.0", "cpu:package.2")
    first, second = (read_processor(tree, f"cpu:package.{number}") for number in (0, 2))
    assert (value_of(first.threads_online), value_of(second.threads_online)) == (2, 1)
    assert isinstance(first.threads_present, Absent)
    assert isinstance(second.threads_possible, Absent)


@pytest.mark.parametrize("package", [b"-1\n", errno.ENOENT])
def test_a_package_that_is_not_numbered(package: Content) -> None:
    found = only(draw(0, **{f"{CPUS}/cpu0/topology/physical_package_id": package}))
    assert (found.place, found.label) == ("cpu:package", "package")
    assert value_of(found.threads_online) == 1


def test_counters_are_the_highest_and_never_a_sum() -> None:
    """A package's counter is repeated at each of its threads."""
    files: dict[str, Content] = {
        f"{CPUS}/cpu0/thermal_throttle/core_throttle_count": b"3\n",
        f"{CPUS}/cpu1/thermal_throttle/core_throttle_count": b"12\n",
        f"{CPUS}/cpu0/thermal_throttle/package_throttle_count": b"12\n",
        f"{CPUS}/cpu1/thermal_throttle/package_throttle_count": b"12\n",
        f"{CPUS}/cpu1/cpufreq/cpuinfo_max_freq": b"3100000\n",
    }
    found = only(draw(0, 0, **files))
    path = f"{CPUS}/cpu1/thermal_throttle/core_throttle_count"
    assert found.core_throttle_count == Value(value=12, sources=(path,))
    assert value_of(found.package_throttle_count) == 12
    assert value_of(found.maximum_frequency_khz) == 4_200_000


def test_a_processor_without_counters_has_none_and_not_zero() -> None:
    files: dict[str, Content] = {
        f"{CPUS}/cpu0/{name}": errno.ENOENT
        for name in (
            "cpufreq/cpuinfo_max_freq",
            "thermal_throttle/core_throttle_count",
            "thermal_throttle/package_throttle_count",
        )
    }
    found = only(draw(0, **files))
    assert isinstance(found.maximum_frequency_khz, Absent)
    assert isinstance(found.core_throttle_count, Absent)
    assert isinstance(found.package_throttle_count, Absent)


@pytest.mark.parametrize("answer", [errno.EACCES, errno.EIO, b"many\n"])
def test_one_counter_that_cannot_be_read_leaves_the_highest_open(answer: Content) -> None:
    path = f"{CPUS}/cpu1/thermal_throttle/core_throttle_count"
    assert isinstance(only(draw(0, 0, **{path: answer})).core_throttle_count, Unreadable)


def test_models_that_differ_are_both_told() -> None:
    text = b"processor: 0\nmodel name: A\nmicrocode: 0x1\n\nprocessor: 1\nmodel name: B\n"
    found = only(draw(0, 0, **{"proc/cpuinfo": text}))
    assert value_of(found.model) == "A, B"
    assert value_of(found.microcode) == "0x1"


@pytest.mark.parametrize(
    ("answer", "state"),
    [
        (b"processor\t: 0\nBogoMIPS\t: 48.00\n", Absent),
        (errno.ENOENT, Absent),
        (errno.EIO, Unreadable),
    ],
)
def test_a_model_that_is_not_told(answer: Content, state: type) -> None:
    found = only(draw(0, **{"proc/cpuinfo": answer}))
    assert isinstance(found.model, state)
    assert isinstance(found.microcode, state)


@pytest.mark.parametrize("answer", [errno.EACCES, b"0-\n", b"all\n"])
def test_a_list_that_makes_no_sense_is_no_empty_one(answer: Content) -> None:
    tree = draw(0, **{f"{CPUS}/online": answer})
    assert isinstance(find_processors(tree), Unreadable)
    found = read_processor(tree, "cpu:package.0")
    for reading in (found.model, found.cores, found.threads_online, found.threads_present):
        assert isinstance(reading, Unreadable)
    assert isinstance(found.core_throttle_count, Unreadable)


def test_a_thread_whose_package_cannot_be_read_leaves_all_open() -> None:
    tree = draw(0, 0, **{f"{CPUS}/cpu1/topology/physical_package_id": errno.EIO})
    assert isinstance(find_processors(tree), Unreadable)


def test_cores_that_cannot_be_told() -> None:
    tree = draw(0, **{f"{CPUS}/cpu0/topology/core_cpus_list": errno.ENOENT})
    assert isinstance(only(tree).cores, Absent)


def test_a_list_of_present_threads_that_cannot_be_read() -> None:
    found = only(draw(0, **{f"{CPUS}/present": errno.EIO}))
    assert isinstance(found.threads_present, Unreadable)


def test_a_place_that_is_no_package() -> None:
    assert isinstance(read_processor(draw(0), "cpu:package.7").model, Absent)
