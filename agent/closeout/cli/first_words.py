"""The first words about a unit, while it is still being read: which it is, and what answers."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from typing import Final

from closeout.check import IDENTITY, find_devices, read_section
from closeout.judge.questions import ASKED
from closeout.kernel.recorded import RecordedTree
from closeout.model.expectation import Expectation, Present
from closeout.model.identity import System
from closeout.model.inventory import Inventory, Listing
from closeout.model.reading import Reading, Value, state_of
from closeout.readers import READERS

NAMELESS: Final = "a unit that does not say its maker and model"


def read_identity(tree: RecordedTree) -> Inventory:
    """The unit's own section, out of what is recorded so far."""
    return Inventory(sections=tuple(read_section(tree, reader) for reader in IDENTITY))


def tell_identity(inventory: Inventory, *, redacted: bool) -> str:
    """`Northlake Fen 14, serial NW83KD20`; without the serial where it may not be seen."""
    for system in inventory.section("system").devices:
        if isinstance(system, System):
            names = [_text(system.manufacturer), _text(system.product)]
            name = " ".join(filter(None, names)) or NAMELESS
            return name if redacted else f"{name}, serial {_text_or_state(system.serial)}"
    return NAMELESS


def tell_presence(tree: RecordedTree, expectations: Iterable[Expectation]) -> str:
    """`parts answering: 14 of 15; not seen yet: touchpad`, by the lists of devices alone.

    A part that is known by more than its class needs the devices themselves, and is not counted.
    """
    demands = [
        expectation
        for expectation in expectations
        if isinstance(expectation.demand, Present)
        and expectation.demand.at_least
        and expectation.weight in ASKED
        and not expectation.where
    ]
    wanted = {expectation.kind for expectation in demands}
    listings = {
        reader.kind: find_devices(tree, reader) for reader in READERS if reader.kind in wanted
    }
    missing = list(dict.fromkeys(_missing(demands, listings)))
    told = f"parts answering: {len(demands) - len(missing)} of {len(demands)}"
    return f"{told}; not seen yet: {', '.join(missing)}" if missing else told


def _missing(demands: Sequence[Expectation], listings: Mapping[str, Listing]) -> Iterator[str]:
    for expectation in demands:
        listing = listings[expectation.kind]
        seen = len(listing.value) if isinstance(listing, Value) else 0
        if isinstance(expectation.demand, Present) and seen < expectation.demand.at_least:
            yield expectation.part or expectation.kind.replace("_", " ")


def _text_or_state(reading: Reading[str]) -> str:
    return reading.value if isinstance(reading, Value) else f"not given ({state_of(reading)})"


def _text(reading: Reading[str]) -> str:
    return reading.value if isinstance(reading, Value) else ""
