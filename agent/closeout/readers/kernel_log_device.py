"""Which device a record of the kernel's log is about: by its dictionary first, then by its text.

`DEVICE=` in the dictionary identifies it (Documentation/ABI/testing/dev-kmsg): `+pci:0000:00:1f.2`
by subsystem and name, `b8:0` and `c4:64` by number, `n2` a network interface by its index. In the
text the names are those that drivers print by common practice.
"""

from __future__ import annotations

from typing import Final

from closeout.decode.kernel_log import LogRecord
from closeout.kernel.failure import ReadError
from closeout.kernel.tree import KernelTree
from closeout.model.frozen import frozen
from closeout.model.late_pattern import late_pattern
from closeout.model.reading import Value
from closeout.readers.attributes import list_folder, read_text

BY_DICTIONARY: Final = "dictionary"
BY_TEXT: Final = "text"
NETWORK: Final = "sys/class/net"

SUBSYSTEM: Final = late_pattern(r"\+([\w-]+):([^/\s]+)")
NUMBER: Final = late_pattern(r"([bc])([0-9]+:[0-9]+)")
INTERFACE: Final = late_pattern(r"n([0-9]+)")
NUMBERED: Final = {"b": "sys/dev/block", "c": "sys/dev/char"}

IN_TEXT: Final = (
    (late_pattern(r"\b[0-9a-f]{4,6}:[0-9a-f]{2}:[0-9a-f]{2}\.[0-7]\b"), ("sys/bus/pci/devices",)),
    (late_pattern(r"\b(?:usb |usb-storage |uvcvideo )([0-9]+-[0-9]+(?:\.[0-9]+)*)\b"),
     ("sys/bus/usb/devices",)),
    (late_pattern(r"\b([0-9]+-[0-9]+(?:\.[0-9]+)*):[0-9]+\.[0-9]+\b"), ("sys/bus/usb/devices",)),
    (late_pattern(r"\bnvme[0-9]+\b"), ("sys/class/nvme",)),
    (late_pattern(r"\b(ata[0-9]+)(?:\.[0-9]+)?:"), ("sys/class/ata_port",)),
    (late_pattern(r"\b(?:sd[a-z]+|nvme[0-9]+n[0-9]+|mmcblk[0-9]+)\b"), ("sys/class/block",)),
    (late_pattern(r"\bmmc[0-9]+\b"), ("sys/class/mmc_host",)),
    (late_pattern(r"\bi2c-[A-Z0-9]{4,8}:[0-9a-fA-F]{2}\b"), ("sys/bus/i2c/devices",)),
    (late_pattern(r"\bhci[0-9]+\b"), ("sys/class/bluetooth",)),
    (late_pattern(r"\bphy[0-9]+\b"), ("sys/class/ieee80211",)),
    (late_pattern(r"\bthermal_zone[0-9]+\b"), ("sys/class/thermal",)),
)  # fmt: skip
"""Form of a name in the text, and the folder whose link leads to the device."""

BARE_NAMES: Final = late_pattern(r"\b(?:CPU ?[0-9]+|EDAC MC[0-9]+|ACPI)\b")
"""What has no place on a bus, and is worth naming all the same."""


@frozen
class NamedDevice:
    """The device's place, or its name where no link leads to a place; `by` says how it is known."""

    name: str
    place: str
    by: str
    sources: tuple[str, ...]


def name_device(tree: KernelTree, record: LogRecord) -> NamedDevice | None:
    """The device that a record is about; None where it names none."""
    told = record.property_of("DEVICE")
    if told:
        return _by_dictionary(tree, told)
    for form, folders in IN_TEXT:
        if found := form.search(record.text):
            name = found[found.re.groups]
            return _located(tree, name, tuple(f"{folder}/{name}" for folder in folders), BY_TEXT)
    if found := BARE_NAMES.search(record.text):
        return NamedDevice(name=found[0], place="", by=BY_TEXT, sources=())
    return None


def _by_dictionary(tree: KernelTree, told: str) -> NamedDevice:
    if found := SUBSYSTEM.fullmatch(told):
        subsystem, name = found.groups()
        links = (f"sys/bus/{subsystem}/devices/{name}", f"sys/class/{subsystem}/{name}")
        return _located(tree, name, links, BY_DICTIONARY)
    if found := NUMBER.fullmatch(told):
        return _located(tree, told, (f"{NUMBERED[found[1]]}/{found[2]}",), BY_DICTIONARY)
    if found := INTERFACE.fullmatch(told):
        return _interface(tree, told, found[1])
    return NamedDevice(name=told, place="", by=BY_DICTIONARY, sources=())


def _located(tree: KernelTree, name: str, links: tuple[str, ...], by: str) -> NamedDevice:
    for link in links:
        try:
            place = tree.target(link)
        except ReadError:
            continue
        return NamedDevice(name=name, place=place, by=by, sources=(link,))
    return NamedDevice(name=name, place="", by=by, sources=links)


def _interface(tree: KernelTree, told: str, index: str) -> NamedDevice:
    interfaces = list_folder(tree, NETWORK)
    for name in interfaces.value if isinstance(interfaces, Value) else ():
        found = read_text(tree, f"{NETWORK}/{name}/ifindex")
        if isinstance(found, Value) and found.value == index:
            return _located(tree, name, (f"{NETWORK}/{name}",), BY_DICTIONARY)
    return NamedDevice(name=told, place="", by=BY_DICTIONARY, sources=interfaces.sources)
