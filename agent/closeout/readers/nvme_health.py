"""What an NVMe drive tells of its health, its lock and its link.

The health log needs root; the temperature is in the controller's sensor for everybody
(`nvmeN/hwmonM/temp1_input`, drivers/nvme/host/hwmon.c).
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Final

from closeout.decode.nvme_smart import NvmeHealth, decode_nvme_smart
from closeout.kernel.question_names import NVME_HEALTH
from closeout.kernel.tree import KernelTree
from closeout.model.inventory import Listing
from closeout.model.late_pattern import late_pattern
from closeout.model.reading import Absent, Reading, Value, convert
from closeout.readers.attributes import list_folder, read_integer
from closeout.readers.drive_answers import Told, ask, pick
from closeout.readers.drive_lock import read_opal
from closeout.readers.first_told import first_told
from closeout.readers.pcie_link import read_link
from closeout.readers.places import PCI_FUNCTION, label_of

ZERO_CELSIUS: Final = 273_150
"""In thousandths of a kelvin, as the kernel's sensor counts."""
FUNCTION: Final = late_pattern(rf"(.*/{PCI_FUNCTION.pattern})/")
SENSOR: Final = late_pattern(r"hwmon\d+")
NOT_REPORTED: Final = "the drive does not report it"


def read_nvme_health(tree: KernelTree, place: str, namespaces: Listing) -> Mapping[str, Told]:
    """Health, lock and link by the names of the attributes."""
    log = ask(tree, f"{NVME_HEALTH} {label_of(place)}", decode_nvme_smart)

    def of(choose: Callable[[NvmeHealth], int | None]) -> Reading[int]:
        return pick(log, choose, NOT_REPORTED)

    return {
        "tells_health": Value(value=True, sources=(place,)),
        "critical_warnings": convert(log, lambda health: health.critical_warnings),
        "percentage_used": of(lambda health: health.percentage_used),
        "available_spare_percent": of(lambda health: health.available_spare_percent),
        "spare_threshold_percent": of(lambda health: health.spare_threshold_percent),
        "media_errors": of(lambda health: health.media_errors),
        "power_on_hours": of(lambda health: health.power_on_hours),
        "power_cycles": of(lambda health: health.power_cycles),
        "unsafe_shutdowns": of(lambda health: health.unsafe_shutdowns),
        "temperature_millicelsius": first_told(
            (lambda: _composite(log), lambda: _sensor(tree, place)), NOT_REPORTED
        ),
        **_lock(tree, place, namespaces),
        **_link(tree, place),
    }


def _composite(log: Reading[NvmeHealth]) -> Reading[int]:
    kelvin = pick(log, lambda health: health.temperature_kelvin, NOT_REPORTED)
    return convert(kelvin, lambda found: found * 1000 - ZERO_CELSIUS)


def _sensor(tree: KernelTree, place: str) -> Reading[int]:
    listing = list_folder(tree, place)
    if not isinstance(listing, Value):
        return listing
    sensors = [name for name in listing.value if SENSOR.fullmatch(name)]
    if not sensors:
        return Absent(reason="the controller shows no sensor", sources=listing.sources)
    return read_integer(tree, f"{place}/{sensors[0]}/temp1_input")


def _lock(tree: KernelTree, place: str, namespaces: Listing) -> Mapping[str, Told]:
    """The lock is the drive's, and any of its namespaces tells of it."""
    if not isinstance(namespaces, Value):
        return {"security": namespaces, "locked": namespaces}
    if not namespaces.value:
        gap = Absent(reason="the controller shows no namespace", sources=(place,))
        return {"security": gap, "locked": gap}
    opal = read_opal(tree, label_of(namespaces.value[0]))
    return {"security": opal, "locked": convert(opal, lambda words: "locked" in words)}


def _link(tree: KernelTree, place: str) -> Mapping[str, Told]:
    """The link of the PCI function that the controller is."""
    function = FUNCTION.match(place)
    if function is None:
        return {}
    link = read_link(tree, function[1])
    return {
        "link_speed": link.speed,
        "link_speed_possible": link.speed_possible,
        "link_width": link.width,
        "link_width_possible": link.width_possible,
        "link_degraded": link.narrow,
    }
