"""The processor: its model, how much of it runs, and whether heat has slowed it down."""

from __future__ import annotations

from closeout.model.attribute import Shape, about
from closeout.model.device import Device
from closeout.model.frozen import field, frozen
from closeout.model.reading import Reading


@frozen
class Processor(Device):
    """One physical package with all its cores; a thread is what the kernel calls a CPU."""

    model: Reading[str] = field(metadata=about("model name that the processor gives itself"))
    cores: Reading[int] = field(
        metadata=about("number of cores with a thread that runs", Shape.INTEGER)
    )
    threads_online: Reading[int] = field(
        metadata=about("number of threads that run", Shape.INTEGER)
    )
    threads_present: Reading[int] = field(
        metadata=about("number of threads that the firmware shows", Shape.INTEGER)
    )
    threads_possible: Reading[int] = field(
        metadata=about("number of threads that the kernel made room for", Shape.INTEGER)
    )
    microcode: Reading[str] = field(
        metadata=about("microcode revision, hexadecimal as the kernel writes it")
    )
    maximum_frequency_khz: Reading[int] = field(
        metadata=about("highest frequency of its fastest core", Shape.INTEGER, unit="kHz")
    )
    core_throttle_count: Reading[int] = field(
        metadata=about(
            "times since the start that heat slowed a core down, of the core with most",
            Shape.INTEGER,
        )
    )
    package_throttle_count: Reading[int] = field(
        metadata=about(
            "times since the start that heat slowed the whole package down", Shape.INTEGER
        )
    )
