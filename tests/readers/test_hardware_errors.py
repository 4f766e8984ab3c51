"""Counts of errors, as a drawn machine shows them."""

import errno

from closeout.model.device import Position
from closeout.model.reading import Absent, Unreadable
from closeout.readers.hardware_errors import (
    find_machine_checks,
    find_memory_controllers,
    find_pci_faults,
    read_machine_checks,
    read_memory_controller,
    read_pci_faults,
)
from strategies.drawn_tree import Content, DrawnTree
from strategies.shown import value_of, values_of

PORT = "sys/devices/pci0000:00/0000:00:1c.0"
PLAIN = "sys/devices/pci0000:00/0000:00:02.0"
MEMORY = "sys/devices/system/edac/mc"
FILES: dict[str, Content] = {
    f"{PORT}/aer_dev_correctable": b"RxErr 2\nBadTLP 0\nTOTAL_ERR_COR 2\n",
    f"{PORT}/aer_dev_nonfatal": b"Undefined 0\nCmpltTO 1\nTOTAL_ERR_NONFATAL 1\n",
    f"{PORT}/aer_dev_fatal": b"Undefined 0\nTOTAL_ERR_FATAL 0\n",
    f"{PORT}/aer_rootport_total_err_cor": b"3\n",
    f"{PORT}/aer_rootport_total_err_nonfatal": b"1\n",
    f"{PORT}/aer_rootport_total_err_fatal": b"0\n",
    f"{PLAIN}/class": b"0x030000\n",
}
LINKS = {
    "sys/bus/pci/devices/0000:00:1c.0": PORT,
    "sys/bus/pci/devices/0000:00:02.0": PLAIN,
}


def bus(changes: dict[str, Content] | None = None) -> DrawnTree:
    return DrawnTree(files={**FILES, **(changes or {})}, links=LINKS)


def test_functions_that_count_are_found_and_read() -> None:
    assert value_of(find_pci_faults(bus())) == (PORT,)
    found = read_pci_faults(bus(), PORT)
    assert (found.label, found.position) == ("0000:00:1c.0", Position.INTERNAL)
    assert values_of(found) == {
        "correctable": 2,
        "nonfatal": 1,
        "fatal": 0,
        "error_names": ("correctable RxErr 2", "nonfatal CmpltTO 1"),
        "below_correctable": 3,
        "below_nonfatal": 1,
        "below_fatal": 0,
    }


def test_an_endpoint_has_nothing_below_it() -> None:
    names = ("cor", "nonfatal", "fatal")
    gone: dict[str, Content] = {f"{PORT}/aer_rootport_total_err_{n}": errno.ENOENT for n in names}
    found = read_pci_faults(bus(gone), PORT)
    assert isinstance(found.below_correctable, Absent)
    assert value_of(found.correctable) == 2


def test_counts_that_cannot_be_read_are_no_zero() -> None:
    found = read_pci_faults(bus({f"{PORT}/aer_dev_fatal": errno.EIO}), PORT)
    for reading in (found.fatal, found.error_names):
        assert isinstance(reading, Unreadable)
        assert reading.error == "EIO"
    spoiled = read_pci_faults(bus({f"{PORT}/aer_dev_fatal": b"RxErr\n"}), PORT)
    assert isinstance(spoiled.fatal, Unreadable)
    assert spoiled.fatal.error == "MALFORMED"


def test_a_function_that_cannot_be_looked_into_hides_nothing() -> None:
    refused = find_pci_faults(bus({PLAIN: errno.EACCES}))
    assert isinstance(refused, Unreadable)
    no_bus = find_pci_faults(DrawnTree(files={"sys/class/net/lo/address": b"\n"}))
    assert value_of(no_bus) == ()
    assert isinstance(find_pci_faults(DrawnTree()), Absent)


def test_memory_without_counting_has_no_controller() -> None:
    tree = DrawnTree(files={f"{MEMORY}/uevent": b"", f"{MEMORY}/power/control": b"auto\n"})
    assert value_of(find_memory_controllers(tree)) == ()


def test_a_controller_is_read() -> None:
    files: dict[str, Content] = {
        f"{MEMORY}/mc0/mc_name": b"drawn\n",
        f"{MEMORY}/mc0/ce_count": b"3\n",
        f"{MEMORY}/mc0/ue_count": b"0\n",
        f"{MEMORY}/mc0/seconds_since_reset": b"77\n",
    }
    tree = DrawnTree(files=files)
    (place,) = value_of(find_memory_controllers(tree))
    found = read_memory_controller(tree, place)
    assert values_of(found) == {
        "model": "drawn",
        "corrected": 3,
        "uncorrected": 0,
        "erring": True,
        "watched_seconds": 77,
    }
    unread = DrawnTree(files={**files, f"{MEMORY}/mc0/ue_count": errno.EIO})
    assert isinstance(read_memory_controller(unread, place).erring, Unreadable)


def test_machine_checks_are_summed() -> None:
    table = (
        b"  CPU0 CPU1\nMCE: 0 1 Machine check exceptions\nMCP: 2 3 polls\nTRM: 0 0 x\nTHR: 1 1 x\n"
    )
    tree = DrawnTree(files={"proc/interrupts": table})
    (place,) = value_of(find_machine_checks(tree))
    found = read_machine_checks(tree, place)
    assert values_of(found) == {
        "exceptions": 1,
        "threshold_interrupts": 2,
        "thermal_interrupts": 0,
        "polls": 5,
    }
    assert isinstance(found.deferred_interrupts, Absent)


def test_a_table_that_cannot_be_read_is_not_empty() -> None:
    assert isinstance(find_machine_checks(DrawnTree()), Absent)
    refused = DrawnTree(files={"proc/interrupts": errno.EACCES})
    assert isinstance(find_machine_checks(refused), Unreadable)
    spoiled = DrawnTree(files={"proc/interrupts": b"no table"})
    found = read_machine_checks(spoiled, "proc/interrupts")
    assert isinstance(found.exceptions, Unreadable)
