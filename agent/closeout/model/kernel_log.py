"""What the kernel itself put into its log as a warning or worse."""

from __future__ import annotations

from closeout.model.attribute import Shape, about
from closeout.model.device import Device
from closeout.model.frozen import field, frozen
from closeout.model.reading import Reading


@frozen
class KernelLog(Device):
    """The log as a whole.

    The four lists are told by the judge, who has the patterns of what is trouble and what is
    harmless.
    """

    records: Reading[int] = field(
        metadata=about("records of the kernel that are a warning or worse", Shape.INTEGER)
    )
    lost_records: Reading[int] = field(
        metadata=about("records of any kind that were overwritten before this", Shape.INTEGER)
    )
    left_out_records: Reading[int] = field(
        metadata=about("warnings that were too many to keep", Shape.INTEGER)
    )
    troubles: Reading[tuple[str, ...]] = field(
        metadata=about("lines that tell of trouble with a part inside", Shape.TEXTS)
    )
    outside_troubles: Reading[tuple[str, ...]] = field(
        metadata=about("lines that tell of trouble with what is plugged in", Shape.TEXTS)
    )
    unexplained: Reading[tuple[str, ...]] = field(
        metadata=about("lines that fit no known pattern", Shape.TEXTS)
    )
    harmless: Reading[tuple[str, ...]] = field(
        metadata=about("lines that are known to mean nothing, with the reason", Shape.TEXTS)
    )
    crash_records: Reading[tuple[str, ...]] = field(
        metadata=about("names of what an earlier crash left in the firmware's store", Shape.TEXTS)
    )


@frozen
class KernelMessage(Device):
    """One message, however often it came; it sits where the device sits that it names."""

    text: Reading[str] = field(metadata=about("the message"))
    severity: Reading[str] = field(
        metadata=about("emergency, alert, critical, error or warning, the worst there was")
    )
    times: Reading[int] = field(metadata=about("how often it came", Shape.INTEGER))
    first_microseconds: Reading[int] = field(
        metadata=about("when it first came, since the start", Shape.INTEGER, unit="µs")
    )
    about_device: Reading[str] = field(
        metadata=about("place of the device that it names, or the name where it has no place")
    )
    named_by: Reading[str] = field(
        metadata=about("how the device is known: the record's dictionary, or the text")
    )
    identifiers: Reading[tuple[str, ...]] = field(
        metadata=about("addresses and serial numbers in it", Shape.TEXTS, personal=True)
    )
    nature: Reading[str] = field(
        metadata=about("trouble, harmless or unexplained, by the list of known lines")
    )
    explanation: Reading[str] = field(metadata=about("what the list of known lines says of it"))
