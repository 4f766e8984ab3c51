"""Class codes in words, and which of them usually have a driver."""

from hypothesis import given
from hypothesis import strategies as st

from closeout.decode import pci_class, usb_class

codes = st.text("0123456789abcdef", min_size=6, max_size=6)


def test_words_are_as_exact_as_the_table_allows() -> None:
    assert pci_class.describe_pci_class("010802") == "NVMe controller"
    assert pci_class.describe_pci_class("0108ff") == "non-volatile memory controller"
    assert pci_class.describe_pci_class("01ff00") == "storage controller"
    assert pci_class.describe_pci_class("0C0330") == "USB 3 controller (xHCI)"
    assert pci_class.describe_pci_class("770000") == "class 77 that no list here names"


@given(codes)
def test_any_code_has_words(code: str) -> None:
    assert pci_class.describe_pci_class(code)


def test_every_subclass_has_its_own_class_in_the_table() -> None:
    assert {code[:2] for code in pci_class.WORDS} <= set(pci_class.WORDS)
    assert {code[:2] for code in pci_class.USUALLY_WITHOUT_DRIVER} <= set(pci_class.WORDS)


def test_bridges_and_vendor_specific_functions_need_no_driver() -> None:
    without = ("060000", "060100", "068000", "060400", "050000", "088000", "118000", "ff0000")
    assert not any(pci_class.has_usual_driver(code) for code in without)


def test_what_a_technician_misses_has_a_usual_driver() -> None:
    usual = ("028000", "010802", "010601", "030000", "040300", "0c0330", "020000", "080501")
    assert all(pci_class.has_usual_driver(code) for code in usual)


def test_a_usb_interface_of_its_own_class_needs_no_driver() -> None:
    assert usb_class.has_usual_driver("e0/01/01")
    assert usb_class.has_usual_driver("0e/01/00")
    assert not usb_class.has_usual_driver("ff/00/00")
    assert not usb_class.has_usual_driver("e0/01/03")
