"""What libraries say of the machine where it differs from what our own readers found."""

from __future__ import annotations

from closeout.model.attribute import Shape, about
from closeout.model.device import Device
from closeout.model.frozen import field, frozen
from closeout.model.reading import Reading


@frozen
class SecondOpinions(Device):
    """Libraries asked beside our own readers, one attribute for each: empty where they agree."""

    psutil_disagreements: Reading[tuple[str, ...]] = field(
        metadata=about(
            "what psutil tells otherwise of memory, network addresses, charge, heat and fans",
            Shape.TEXTS,
            personal=True,
        )
    )
    pyudev_disagreements: Reading[tuple[str, ...]] = field(
        metadata=about(
            "what pyudev tells otherwise of serial and model of the disks",
            Shape.TEXTS,
            personal=True,
        )
    )
    cpuinfo_disagreements: Reading[tuple[str, ...]] = field(
        metadata=about("what py-cpuinfo tells otherwise of the processor's model", Shape.TEXTS)
    )
