"""What a unit is judged by: the profile, the work order and the catalogue, found and loaded."""

from dataclasses import dataclass
from pathlib import Path
from typing import TypeVar

from closeout.check import Terms
from closeout.cli.trouble import InputTroubleError
from closeout.expect.catalogue import catalogue_source, load_catalogue
from closeout.expect.load import (
    Mistakes,
    Profile,
    WorkOrder,
    choose_profile,
    load_profile,
    load_work_order,
    shipped_profiles,
)
from closeout.model.catalogue import Catalogue
from closeout.model.identity import System
from closeout.model.inventory import Inventory
from closeout.model.reading import Reading, Value
from closeout.model.report import SourceFile

Loaded = TypeVar("Loaded")


@dataclass(frozen=True, slots=True, kw_only=True)
class Demands:
    """Everything but the attempt; without a named profile the unit itself chooses one."""

    named_profile: Profile | None
    work_order: WorkOrder | None
    catalogue: Catalogue
    rules: SourceFile

    @property
    def order_id(self) -> str:
        """The order's number; empty without one."""
        return self.work_order.order if self.work_order else ""

    def terms(self, inventory: Inventory, attempt: int) -> Terms:
        """The terms for the unit that the inventory shows."""
        return Terms(
            profile=self.named_profile or _profile_of(inventory),
            work_order=self.work_order,
            catalogue=self.catalogue,
            rules=self.rules,
            attempt=attempt,
        )


def load_demands(profile: str | None, work_order: Path | None) -> Demands:
    """Loads what was named; raises InputTroubleError with every mistake in it."""
    order = _sound(load_work_order(work_order)) if work_order else None
    wanted = profile or (order.profile if order else "")
    return Demands(
        named_profile=_sound(load_profile(wanted)) if wanted else None,
        work_order=order,
        catalogue=load_catalogue(),
        rules=catalogue_source(),
    )


def _sound(loaded: Loaded | Mistakes) -> Loaded:
    if isinstance(loaded, Mistakes):
        raise InputTroubleError(loaded.show())
    return loaded


def _profile_of(inventory: Inventory) -> Profile:
    """The shipped profile of the unit's maker and product, else the one for any notebook."""
    for system in inventory.section("system").devices:
        if isinstance(system, System):
            maker, product = _text(system.manufacturer), _text(system.product)
            return choose_profile(shipped_profiles(), maker, product)
    return choose_profile(shipped_profiles(), "", "")


def _text(reading: Reading[str]) -> str:
    return reading.value if isinstance(reading, Value) else ""
