"""Errors of the hardware that the kernel counted since it was started."""

from __future__ import annotations

from closeout.model.attribute import Shape, about
from closeout.model.device import Device
from closeout.model.frozen import field, frozen
from closeout.model.reading import Reading


@frozen
class PciFaults(Device):
    """What Advanced Error Reporting counted at one PCI function; the other end counts too."""

    correctable: Reading[int] = field(
        metadata=about("errors that the link put right itself", Shape.INTEGER)
    )
    nonfatal: Reading[int] = field(
        metadata=about("uncorrected errors after which the link went on", Shape.INTEGER)
    )
    fatal: Reading[int] = field(
        metadata=about("uncorrected errors after which the link had to be reset", Shape.INTEGER)
    )
    error_names: Reading[tuple[str, ...]] = field(
        metadata=about("every error that was counted, by the kernel's name", Shape.TEXTS)
    )
    below_correctable: Reading[int] = field(
        metadata=about("correctable errors told to this root port from below it", Shape.INTEGER)
    )
    below_nonfatal: Reading[int] = field(
        metadata=about("nonfatal errors told to this root port from below it", Shape.INTEGER)
    )
    below_fatal: Reading[int] = field(
        metadata=about("fatal errors told to this root port from below it", Shape.INTEGER)
    )


@frozen
class MemoryController(Device):
    """One memory controller that finds errors; most notebooks have none that does."""

    model: Reading[str] = field(metadata=about("kind of memory controller, as its driver says"))
    corrected: Reading[int] = field(metadata=about("memory errors put right", Shape.INTEGER))
    uncorrected: Reading[int] = field(
        metadata=about("memory errors that could not be put right", Shape.INTEGER)
    )
    erring: Reading[bool] = field(metadata=about("an error of either kind was counted", Shape.FLAG))
    watched_seconds: Reading[int] = field(
        metadata=about("for how long it was counted", Shape.INTEGER, unit="s")
    )


@frozen
class MachineChecks(Device):
    """Machine checks of all processors together, as the kernel counted them."""

    exceptions: Reading[int] = field(
        metadata=about("machine check exceptions: errors that were not put right", Shape.INTEGER)
    )
    threshold_interrupts: Reading[int] = field(
        metadata=about("times that corrected errors went over their threshold", Shape.INTEGER)
    )
    deferred_interrupts: Reading[int] = field(
        metadata=about("errors whose harm was put off", Shape.INTEGER)
    )
    thermal_interrupts: Reading[int] = field(
        metadata=about("thermal events of the processors", Shape.INTEGER)
    )
    polls: Reading[int] = field(
        metadata=about("times that the kernel looked for errors put right", Shape.INTEGER)
    )
