"""What no driver serves is found by its class or its ids, and only for the kind it would be."""

import pytest

from closeout.judge.coverage import COVERAGE, explain_missing, find_unserved
from closeout.model.device import Device
from closeout.model.inventory import KINDS
from closeout.model.reading import Absent
from strategies.devices import DENIED, device, inventory

NO_DRIVER = Absent(reason="no driver is bound", sources=("drawn",))


def labels(*devices: Device, kind: str, ids: tuple[str, ...] = ()) -> list[str]:
    return [found.label for found in find_unserved(inventory(*devices), kind, ids)]


def card(class_code: object, **more: object) -> Device:
    return device("pci_device", "pci/card", class_code=class_code, driver=NO_DRIVER, **more)


@pytest.mark.parametrize("kind", COVERAGE)
def test_each_row_is_a_kind_and_its_classes_find_that_kind(kind: str) -> None:
    assert kind in KINDS
    row = COVERAGE[kind]
    for start in row.pci:
        assert labels(card(start.ljust(6, "0")), kind=kind) == ["card"]
    for start in row.usb:
        triple = start if len(start.split("/")) > 2 else f"{start.rstrip('/')}/00/00"
        stick = device("usb_device", "usb/1-3", interface_classes=(triple,), drivers=())
        assert labels(stick, kind=kind) == ["1-3"]


def test_a_kind_without_a_row_is_never_shown_without_a_driver() -> None:
    assert labels(card("028000"), kind="battery") == []


def test_the_rows_stand_in_the_order_of_the_kinds() -> None:
    assert list(COVERAGE) == [kind for kind in KINDS if kind in COVERAGE]


@pytest.mark.parametrize(
    "other",
    [
        device("pci_device", class_code="028000", driver="nlwifi"),
        device("pci_device", class_code="028000", driver=DENIED),
        device("pci_device", class_code="020000", driver=NO_DRIVER),
        device("pci_device", class_code=DENIED, driver=NO_DRIVER),
        device("usb_device", interface_classes=("e0/01/01",), drivers=()),
    ],
)
def test_what_has_a_driver_or_is_of_another_class_is_not_it(other: Device) -> None:
    assert labels(other, kind="wifi") == []


def test_an_id_of_the_profile_finds_a_part_whose_class_says_nothing() -> None:
    odd = card("ff0000", ids="1af9:0c11")
    assert labels(odd, kind="wifi") == []
    assert labels(odd, kind="wifi", ids=("1af9:0c11",)) == ["card"]
    assert labels(odd, kind="wifi", ids=("1af9:0c12",)) == []
    reader = device("usb_device", "usb/1-4", ids="1af9:0007", drivers=(), interface_classes=DENIED)
    assert labels(reader, kind="bluetooth", ids=("1af9:0007",)) == ["1-4"]
    served = device("usb_device", ids="1af9:0007", drivers=("nlfinger",))
    assert labels(served, kind="bluetooth", ids=("1af9:0007",)) == []


def test_a_part_on_an_inner_bus_is_found_by_one_of_its_ids() -> None:
    pad = device("bus_device", "acpi/NLTP0001:00", ids=("NLTP0001", "PNP0C50"), driver=NO_DRIVER)
    assert labels(pad, kind="wifi", ids=("pnp0c50",)) == ["NLTP0001:00"]
    assert labels(pad, kind="wifi", ids=("PNP0C51",)) == []
    ucsi = device("bus_device", "acpi/USBC000:00", ids=("USBC000", "PNP0CA0"), driver=NO_DRIVER)
    assert labels(ucsi, kind="type_c_port") == ["USBC000:00"]
    served = device("bus_device", ids=("USBC000",), driver="ucsi_acpi")
    assert labels(served, kind="type_c_port") == []
    untold = device("bus_device", ids=DENIED, driver=NO_DRIVER)
    assert labels(untold, kind="type_c_port") == []


@pytest.mark.parametrize(
    ("found", "kind"),
    [
        (card("0d4000"), "wwan"),
        (card("020000"), "wired_network"),
        (card("0c0340"), "thunderbolt"),
        (card("0c0330"), "usb_port"),
        (device("usb_device", "usb/card", interface_classes=("02/0e/00",), drivers=()), "wwan"),
        (
            device("usb_device", "usb/card", interface_classes=("02/06/00",), drivers=()),
            "wired_network",
        ),
    ],
)
def test_modems_ports_and_routers_without_a_driver_are_shown(found: Device, kind: str) -> None:
    assert labels(found, kind=kind) == ["card"]


def test_what_is_missing_is_explained_by_what_the_buses_say() -> None:
    pad = device("bus_device", "acpi/NLTP0001:00", ids=("NLTP0001", "PNP0C50"), driver="i2c_hid")
    told = explain_missing(inventory(pad), ("PNP0C50",))
    assert told == "the bus shows NLTP0001:00, whose driver makes none of it"
    assert explain_missing(inventory(), ("PNP0C50", "fe21:1")) == "no bus shows PNP0C50 or fe21:1"
    assert explain_missing(inventory(), ()) == ""
    assert explain_missing(inventory(bus_device=DENIED), ("PNP0C50",)) == ""
