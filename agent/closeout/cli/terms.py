"""What a unit is judged by: the profile, the work order and the catalogue, found and loaded."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from functools import lru_cache
from pathlib import Path
from types import MappingProxyType
from typing import TYPE_CHECKING, Final

from closeout.check import Terms
from closeout.cli.files import read_file
from closeout.cli.trouble import InputTroubleError
from closeout.expect.catalogue import catalogue_source, load_entries
from closeout.expect.document import LARGEST_FILE
from closeout.expect.kernel_log import load_log_rules
from closeout.expect.load import (
    Mistake,
    Mistakes,
    Profile,
    WorkOrder,
    expectations_of,
    load_profile,
    load_work_order,
    parts_of,
    profile_set,
    shipped_profile_for,
)
from closeout.kernel.secrecy import mask_keys
from closeout.model.catalogue import Catalogue
from closeout.model.expectation import Expectation
from closeout.model.frozen import frozen, replace
from closeout.model.handling import EarlierAttempt, Handling
from closeout.model.identity import System
from closeout.model.inventory import Inventory
from closeout.model.log_rules import LogRules
from closeout.model.profile_signature import ProfileSignature, SignatureState
from closeout.model.reading import Reading, Value
from closeout.model.repair_map import RepairMap

if TYPE_CHECKING:
    from closeout.expect.set_statement import SignedSets
    from closeout.judge.keep import Proofs
    from closeout.report.seal import Signer

MODELS_KEPT: Final = 64
NO_LEAD: Final = "no lead is known here"
KEY_IN_ORDER: Final = (
    "a text in the form of a licence key, which no report may hold; take it out of the order"
)


@frozen
class Demands:
    """Everything but the attempt; without a named profile the unit itself chooses one.

    `order_file` is the file of the order by the name it has beside the report, empty without one.
    The label in `handling` is as it was scanned. `signed_sets` are what the lead signed, None where
    no lead is known.
    """

    named_profile: Profile | None
    work_order: WorkOrder | None
    log_rules: LogRules
    repairs: tuple[str, ...] = ()
    order_file: Mapping[str, bytes] = MappingProxyType({})
    earlier: tuple[EarlierAttempt, ...] = ()
    reopened: tuple[str, ...] = ()
    is_draft: bool = False
    kept: Proofs | None = None
    handling: Handling = Handling()
    signed_sets: SignedSets | None = None

    @property
    def order_id(self) -> str:
        """The order's number; empty without one."""
        return self.work_order.order if self.work_order else ""

    def at_station(self, signer: Signer | None) -> Demands:
        """Where nobody said where it is checked, it is where the key is."""
        if signer is None or self.handling.station:
            return self
        return replace(self, handling=replace(self.handling, station=signer.station.code))

    def profile_for(self, inventory: Inventory) -> Profile:
        """The profile that was named, else the one of the unit that the inventory shows."""
        return self.named_profile or _profile_of(inventory)

    def terms(self, inventory: Inventory, attempt: int) -> Terms:
        """The terms for the unit that the inventory shows."""
        profile = self.profile_for(inventory)
        _refuse_unknown_options(profile, self.work_order)
        repair_map = map_for(self.repairs, profile)
        demanded = expectations_of(profile, self.work_order, repair_map, self.repairs)
        rules = [demand.rule for demand in (*demanded, *_of_choices(profile))]
        for part in parts_of(profile, self.work_order):
            rules.extend(part.rules)
        catalogue = _entries_for(rules, repair_map)
        handling = self.handling
        if handling.label:
            from closeout.cli.label import (  # noqa: PLC0415 - only after a scan
                in_form_of_order,
                with_label_rule,
            )

            handling = in_form_of_order(handling, self.work_order, profile)
            catalogue = with_label_rule(
                catalogue, self.work_order, is_first_attempt=not self.earlier
            )
        return Terms(
            profile=profile,
            work_order=self.work_order,
            catalogue=catalogue,
            rules=catalogue_source(catalogue),
            attempt=attempt,
            log_rules=self.log_rules,
            repair_map=repair_map,
            repairs=self.repairs,
            earlier=self.earlier,
            reopened=self.reopened,
            is_draft=self.is_draft,
            kept=self.kept,
            profile_set=profile_set(),
            signature=_signature_of(profile, self.signed_sets),
            handling=handling,
        )


def _signature_of(profile: Profile, known: SignedSets | None) -> ProfileSignature:
    if known is None:
        return ProfileSignature(state=SignatureState.UNSIGNED, reason=NO_LEAD)
    from closeout.expect.set_statement import signature_of  # noqa: PLC0415 - only with a lead

    return signature_of(profile.chain, known)


def _of_choices(profile: Profile) -> Iterator[Expectation]:
    for option in profile.options:
        for choice in option.choices:
            yield from choice.expectations


def _refuse_unknown_options(profile: Profile, order: WorkOrder | None) -> None:
    """What the order says of options must be one of the forms that the model comes in."""
    if order is None or not order.options:
        return
    known = {
        option.name: tuple(choice.name for choice in option.choices) for option in profile.options
    }
    offered = "; ".join(f"{name} = {' | '.join(choices)}" for name, choices in known.items())
    for name, choice in order.options.items():
        if choice not in known.get(name, ()):
            raise InputTroubleError(
                f"work order {order.order}: options.{name}: {choice} is no form that {profile.id}"
                f" comes in; allowed: {offered or 'none, this model has no options'}"
            )


def load_demands(
    profile: str | None, work_order: Path | None, repairs: Sequence[str] = ()
) -> Demands:
    """Loads what was named; raises InputTroubleError with every mistake, each on its line."""
    order = _load_order(work_order) if work_order else None
    named = _load_named(profile, order, str(work_order))
    if isinstance(order, Mistakes) or isinstance(named, Mistakes):
        raise InputTroubleError(*_lines_of(order), *_lines_of(named))
    return Demands(
        named_profile=named,
        work_order=order,
        log_rules=load_log_rules(),
        repairs=tuple(dict.fromkeys((*(order.repairs if order else ()), *repairs))),
        order_file=_copy_order(work_order) if work_order else {},
    )


def _copy_order(file: Path) -> Mapping[str, bytes]:
    """What an attempt keeps of its order, so that rework can be judged by the same."""
    name = "work-order.json" if file.suffix == ".json" else "work-order.toml"
    return {name: read_file(file, LARGEST_FILE)}


def map_for(repairs: Sequence[str], profile: Profile | None = None) -> RepairMap | None:
    """The map in the words of the model, where any repair is there to be looked up in it."""
    if not repairs:
        return None
    from closeout.expect.own_connection import with_own_connections  # noqa: PLC0415 - as below
    from closeout.expect.repair_map import load_repair_map  # noqa: PLC0415 - only after a repair

    return with_own_connections(load_repair_map(), profile.connections if profile else ())


def _entries_for(rules: Iterable[str], repair_map: RepairMap | None) -> Catalogue:
    """The entries of all that is demanded; what is asked of a connection the map explains."""
    rules = dict.fromkeys(rules)
    asked = {
        connection.rule: connection.entry()
        for connection in (repair_map.connections.values() if repair_map else ())
        if connection.rule in rules
    }
    shipped = _shipped_entries(tuple(rule for rule in rules if rule not in asked))
    return replace(shipped, entries={**shipped.entries, **asked})


@lru_cache(maxsize=MODELS_KEPT)
def _shipped_entries(rules: tuple[str, ...]) -> Catalogue:
    """Where many units are judged, those of one model are asked the same."""
    return load_entries(rules)


@lru_cache(maxsize=MODELS_KEPT)
def _shipped_profile(maker: str, product: str) -> Profile:
    return shipped_profile_for(maker, product)


def _load_order(file: Path) -> WorkOrder | Mistakes:
    """The order; with a licence key in it, which somebody took for a serial, it is refused."""
    loaded = load_work_order(file)
    if isinstance(loaded, WorkOrder):
        raw = read_file(file, LARGEST_FILE)
        if mask_keys(raw) != raw:
            return Mistakes(found=(_mistake(file, "", KEY_IN_ORDER),))
    return loaded


def _load_named(
    profile: str | None, order: WorkOrder | Mistakes | None, order_name: str
) -> Profile | Mistakes | None:
    """The profile that the operator named, else the one that the order names."""
    if profile:
        return load_profile(profile)
    if not isinstance(order, WorkOrder) or not order.profile:
        return None
    loaded = load_profile(order.profile)
    if isinstance(loaded, Mistakes):
        wrong = f"{order.profile}: {loaded.found[0].wrong}"
        return Mistakes(found=(_mistake(order_name, "profile", wrong),))
    return loaded


def _mistake(file: Path | str, key: str, wrong: str) -> Mistake:
    return Mistake(file=str(file), line=0, column=0, key=key, wrong=wrong)


def _lines_of(loaded: object) -> tuple[str, ...]:
    if isinstance(loaded, Mistakes):
        return tuple(mistake.show() for mistake in loaded.found)
    return ()


def _profile_of(inventory: Inventory) -> Profile:
    """The shipped profile of the unit's maker and product, else the one for any notebook."""
    for system in inventory.section("system").devices:
        if isinstance(system, System):
            maker, product = _text(system.manufacturer), _text(system.product)
            return _shipped_profile(maker, product)
    return _shipped_profile("", "")


def _text(reading: Reading[str]) -> str:
    return reading.value if isinstance(reading, Value) else ""
