"""Processors: one for each physical package, out of the threads that the kernel calls CPUs.

Kernel paths: `sys/devices/system/cpu/` (Documentation/ABI/stable/sysfs-devices-system-cpu for the
lists and `topology`, Documentation/ABI/testing/sysfs-devices-system-cpu for `cpufreq`;
drivers/thermal/intel/therm_throt.c for `thermal_throttle`) and `proc/cpuinfo`. A thread that is
offline tells nothing of itself, not even its package.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final, TypeAlias

from closeout.decode.cpu_list import decode_cpu_list
from closeout.decode.cpuinfo import decode_cpuinfo
from closeout.kernel.failure import ReadError
from closeout.kernel.tree import KernelTree
from closeout.model.device import Position
from closeout.model.frozen import frozen
from closeout.model.inventory import Listing
from closeout.model.processor import Processor
from closeout.model.reading import Absent, Reading, Unreadable, Value, convert
from closeout.readers.attributes import (
    decode_line,
    no_value,
    not_understood,
    read_integer,
    read_text,
)
from closeout.readers.reader import Reader

CPUS: Final = "sys/devices/system/cpu"
CPUINFO: Final = "proc/cpuinfo"
PLACES: Final = "cpu:package"
NOT_NUMBERED: Final = -1
"""What the kernel gives as package where the machine does not say (topology_physical_package_id,
include/linux/topology.h)."""

Threads: TypeAlias = tuple[int, ...]


@frozen
class Package:
    """The threads of a package that are online; `is_only` where the unit has no other one."""

    threads: Threads
    is_only: bool


def find_processors(tree: KernelTree) -> Listing:
    """A place for each package that has a thread online."""
    packages = _read_packages(tree)
    if not isinstance(packages, Value):
        return packages
    return Value(value=tuple(map(_place, packages.value)), sources=packages.sources)


def read_processor(tree: KernelTree, place: str) -> Processor:
    """One package."""
    package = _package_at(tree, place)
    return Processor(
        place=place,
        label=place.removeprefix("cpu:").replace(".", " "),
        position=Position.INTERNAL,
        model=_of_cpuinfo(tree, package, "model name"),
        cores=_count_cores(tree, package),
        threads_online=convert(package, _count_threads),
        threads_present=_count_listed(tree, package, "present"),
        threads_possible=_count_listed(tree, package, "possible"),
        microcode=_of_cpuinfo(tree, package, "microcode"),
        maximum_frequency_khz=_highest(tree, package, "cpufreq/cpuinfo_max_freq"),
        core_throttle_count=_highest(tree, package, "thermal_throttle/core_throttle_count"),
        package_throttle_count=_highest(tree, package, "thermal_throttle/package_throttle_count"),
    )


def _place(package: int) -> str:
    return PLACES if package == NOT_NUMBERED else f"{PLACES}.{package}"


def _read_packages(tree: KernelTree) -> Value[Mapping[int, Threads]] | Absent | Unreadable:
    """The threads that are online by their package; one that cannot be read leaves all open."""
    online = _read_list(tree, "online")
    if not isinstance(online, Value):
        return online
    packages: dict[int, Threads] = {}
    for thread in online.value:
        package = read_integer(tree, f"{CPUS}/cpu{thread}/topology/physical_package_id")
        if isinstance(package, Unreadable):
            return package
        number = package.value if isinstance(package, Value) else NOT_NUMBERED
        packages[number] = (*packages.get(number, ()), thread)
    if len(packages) > 1:
        # Where the others are numbered, a thread that is not was taken offline meanwhile.
        packages.pop(NOT_NUMBERED, None)
    return Value(value=dict(sorted(packages.items())), sources=online.sources)


def _read_list(tree: KernelTree, name: str) -> Value[Threads] | Absent | Unreadable:
    path = f"{CPUS}/{name}"
    try:
        text = decode_line(tree.read(path))
    except ReadError as failure:
        return no_value(failure)
    numbers = decode_cpu_list(text)
    if numbers is None:
        return not_understood(path, "a list of CPU numbers", text)
    return Value(value=numbers, sources=(path,))


def _package_at(tree: KernelTree, place: str) -> Reading[Package]:
    packages = _read_packages(tree)
    if not isinstance(packages, Value):
        return packages
    for number, threads in packages.value.items():
        if _place(number) == place:
            package = Package(threads=threads, is_only=len(packages.value) == 1)
            return Value(value=package, sources=packages.sources)
    return Absent(reason="no thread of this package is online", sources=packages.sources)


def _count_listed(tree: KernelTree, package: Reading[Package], name: str) -> Reading[int]:
    """How many threads a list holds; which are another package's is told of no thread offline."""
    if not isinstance(package, Value):
        return package
    listed = _read_list(tree, name)
    if isinstance(listed, Value) and not package.value.is_only:
        reason = "of a thread that is offline the kernel does not tell the package"
        return Absent(reason=reason, sources=listed.sources)
    return convert(listed, len)


def _count_cores(tree: KernelTree, package: Reading[Package]) -> Reading[int]:
    """Threads that share a core list the same threads in `core_cpus_list`."""
    if not isinstance(package, Value):
        return package
    cores: set[str] = set()
    sources: list[str] = []
    for thread in package.value.threads:
        shared = read_text(tree, f"{CPUS}/cpu{thread}/topology/core_cpus_list")
        if not isinstance(shared, Value):
            return convert(shared, len)
        cores.add(shared.value)
        sources.extend(shared.sources)
    return Value(value=len(cores), sources=tuple(sources))


def _of_cpuinfo(tree: KernelTree, package: Reading[Package], name: str) -> Reading[str]:
    """What the threads of the package are said to be; more than one word where they differ."""
    if not isinstance(package, Value):
        return convert(package, str)
    blocks = convert(read_text(tree, CPUINFO), decode_cpuinfo)
    if not isinstance(blocks, Value):
        return convert(blocks, str)
    if missing := [thread for thread in package.value.threads if thread not in blocks.value]:
        advice = f"{CPUINFO} does not list thread {missing[0]}; read again"
        return Unreadable(error="MALFORMED", advice=advice, sources=blocks.sources)
    told = [blocks.value.get(thread, {}).get(name, "") for thread in package.value.threads]
    words = dict.fromkeys(word for word in told if word)
    if not words:
        return Absent(reason=f"the kernel tells no {name}", sources=blocks.sources)
    return Value(value=", ".join(words), sources=blocks.sources)


def _highest(tree: KernelTree, package: Reading[Package], file: str) -> Reading[int]:
    """The highest number that a thread of the package tells.

    A package's counter stands at each of its threads, so that a sum would count it many times;
    one that cannot be read might be the highest.
    """
    if not isinstance(package, Value):
        return convert(package, _count_threads)
    told: list[tuple[int, tuple[str, ...]]] = []
    for thread in package.value.threads:
        number = read_integer(tree, f"{CPUS}/cpu{thread}/{file}")
        if isinstance(number, Unreadable):
            return number
        if isinstance(number, Value):
            told.append((number.value, number.sources))
    if not told:
        return Absent(reason=f"no thread has {file}", sources=package.sources)
    highest, sources = max(told)
    return Value(value=highest, sources=sources)


def _count_threads(package: Package) -> int:
    return len(package.threads)


READERS: Final = (Reader(kind="processor", find=find_processors, read=read_processor),)
