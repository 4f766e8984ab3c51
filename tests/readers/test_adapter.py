"""Adapters as the kernel shows them."""

import errno

import pytest

from closeout.model.device import Position
from closeout.model.reading import Unreadable, Value
from closeout.readers.adapter import find_adapters, read_adapter
from strategies.power_supply import ACPI_PACK, ENERGY_PACK, MAINS, drawn_supplies


def test_barrel_plug_pad_and_usb_sockets_are_adapters_and_packs_are_not() -> None:
    charger = {"type": b"USB\n", "online": b"0\n"}
    older = {"type": b"USB_PD\n", "online": b"0\n"}
    pad = {"type": b"Wireless\n", "online": b"0\n"}
    named = ("AC", "pad", "usbc", "usbd")
    tree = drawn_supplies(AC=MAINS, BAT0=ENERGY_PACK, pad=pad, usbc=charger, usbd=older)
    listing = find_adapters(tree)
    assert isinstance(listing, Value)
    assert listing.value == tuple(f"{ACPI_PACK}/{name}" for name in named)


@pytest.mark.parametrize(("text", "online"), [(b"0\n", False), (b"1\n", True), (b"2\n", True)])
def test_a_supply_feeds_or_not(text: bytes, *, online: bool) -> None:
    """sysfs-class-power: 2 is a supply with a programmable voltage."""
    adapter = read_adapter(drawn_supplies(AC={**MAINS, "online": text}), f"{ACPI_PACK}/AC")
    assert adapter.online == Value(value=online, sources=(f"{ACPI_PACK}/AC/online",))
    assert adapter.supply_type == Value(value="Mains", sources=(f"{ACPI_PACK}/AC/type",))
    assert (adapter.label, adapter.position) == ("AC", Position.EXTERNAL)


@pytest.mark.parametrize("content", [b"3\n", errno.ENODEV])
def test_a_supply_that_gives_no_answer_is_not_offline(content: bytes | int) -> None:
    adapter = read_adapter(drawn_supplies(AC={**MAINS, "online": content}), f"{ACPI_PACK}/AC")
    assert isinstance(adapter.online, Unreadable)
