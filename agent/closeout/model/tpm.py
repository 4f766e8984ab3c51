"""The TPM: whether firmware and kernel agree that there is one, and whether it was used."""

from __future__ import annotations

from closeout.model.attribute import Shape, about
from closeout.model.device import Device
from closeout.model.frozen import field, frozen
from closeout.model.reading import Reading


@frozen
class Tpm(Device):
    """One TPM; one that firmware announces and no driver serves has `present` false."""

    present: Reading[bool] = field(metadata=about("the kernel has a device of it", Shape.FLAG))
    announced: Reading[bool] = field(
        metadata=about("an ACPI table of the firmware announces a TPM", Shape.FLAG)
    )
    version_major: Reading[int] = field(
        metadata=about("major version of its specification: 1 or 2", Shape.INTEGER)
    )
    driver: Reading[str] = field(metadata=about("kernel driver that serves it"))
    banks: Reading[tuple[str, ...]] = field(
        metadata=about("hashes that its registers are kept in", Shape.TEXTS)
    )
    pcr0_measured: Reading[bool] = field(
        metadata=about("the firmware measured itself: register 0 is not all zero", Shape.FLAG)
    )
    pcr7_measured: Reading[bool] = field(
        metadata=about("Secure Boot was measured: register 7 is not all zero", Shape.FLAG)
    )
