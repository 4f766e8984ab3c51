"""What no unit could meet in a profile with all that it inherits, told at its place in the file."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from typing import Final

from closeout.expect.contradiction import allows_none, find_clashes, why_never
from closeout.expect.inheritance import Inherited, is_blank_by_norm
from closeout.expect.mistake import KeyPath
from closeout.expect.option import PlacedOption
from closeout.expect.profile_file import PlacedDemand
from closeout.expect.proofreader import Proofreader
from closeout.model.expectation import About, Empty, Expectation, Filled, Present
from closeout.model.option import Choice

LINKS: Final = ("ribbon", "cable", "plug", "lead", "connector", "socket")
"""What a connection is called after the thing that it connects: `touchpad-ribbon`."""


class ClashFinder:
    """Looks through one profile; what is wrong only in its parents is told at `inherits`."""

    def __init__(self, proof: Proofreader, file: str, whole: Inherited) -> None:
        self._proof = proof
        self._file = file
        self._whole = whole

    def note_all(self) -> None:
        """Notes every contradiction."""
        kept = [one for one in self._whole.demands if not is_blank_by_norm(one, self._whole.norm)]
        self._note_clashes(kept, 0)
        for placed in self._whole.options:
            for choice, demands in self._choices(placed):
                self._note_choice(kept, choice, demands)
        self._note_shared()
        self._note_lacking(kept, self._whole.lacks)

    def _note_shared(self) -> None:
        """Two options that decide the same: neither would stand by itself."""
        owners: dict[About, str] = {}
        for placed in self._whole.options:
            name = placed.option.name
            for _, demands in self._choices(placed):
                for demand in demands:
                    owner = owners.setdefault(demand.key, name)
                    if owner != name:
                        rule = demand.expectation.rule
                        self._note(demand, f"{rule} is decided by the option {owner} too")

    def _choices(self, placed: PlacedOption) -> Iterator[tuple[Choice, list[PlacedDemand]]]:
        for number, choice in enumerate(placed.option.choices):
            places: Iterable[KeyPath] = placed.places[number] if placed.places else ()
            known = list(places) or [()] * len(choice.expectations)
            file = self._file if placed.places else ""
            demands = [
                PlacedDemand(expectation=expectation, file=file, place=place)
                for expectation, place in zip(choice.expectations, known, strict=True)
            ]
            kept = [one for one in demands if not is_blank_by_norm(one, self._whole.norm)]
            yield choice, kept

    def _note_choice(
        self, profile: list[PlacedDemand], choice: Choice, demands: list[PlacedDemand]
    ) -> None:
        """With this choice: its demands stand in place of the profile's of the same key."""
        keys = {demand.key for demand in demands}
        rest = [demand for demand in profile if demand.key not in keys]
        self._note_clashes([*rest, *demands], len(rest), f" (choice {choice.name})")

    def _note_clashes(self, demands: list[PlacedDemand], first_new: int, when: str = "") -> None:
        """Clashes of which the later demand is among the new ones, from `first_new` on."""
        for demand in demands[first_new:]:
            if why := why_never(demand.expectation):
                self._note(demand, why, "where")
            if self._norm_forbids(demand.expectation):
                self._note_norm(demand)
        for first, second, why in find_clashes([one.expectation for one in demands]):
            if second >= first_new:
                self._note_clash(demands[first], demands[second], why, when)

    def _note_clash(self, first: PlacedDemand, second: PlacedDemand, why: str, when: str) -> None:
        is_first_alone = self._is_own(first) and not self._is_own(second)
        late, early = (first, second) if is_first_alone else (second, first)
        rule = late.expectation.rule
        self._note(late, f"{rule} {why} {self._name(early)}{when}")

    def _norm_forbids(self, expectation: Expectation) -> bool:
        target = (expectation.kind, expectation.attribute)
        asks = not isinstance(expectation.demand, Filled | Empty | Present)
        return asks and target in self._whole.norm

    def _note_norm(self, demand: PlacedDemand) -> None:
        place = self._whole.norm[demand.expectation.kind, demand.expectation.attribute]
        rule = demand.expectation.rule
        if self._is_own(demand):
            self._note(demand, f"{rule} asks for a value that the norm leaves blank")
        else:
            at = place or ("inherits",)
            self._proof.note(at, f"{rule} is left blank, and {self._name(demand)} asks for a value")

    def _note_lacking(self, demands: list[PlacedDemand], lacks: Mapping[str, KeyPath]) -> None:
        """A connection that is not there, and a demand that what it connects be there."""
        things = {_thing_of(name): name for name in lacks if name}
        for demand in demands:
            expectation = demand.expectation
            if not isinstance(expectation.demand, Present) or allows_none(expectation.demand):
                continue
            for called in dict.fromkeys((_as_id(expectation.kind), _as_id(expectation.part))):
                if called in things:
                    lacked = things[called]
                    self._note(demand, f"{called} must be there, and the model lacks {lacked}")

    def _note(self, demand: PlacedDemand, wrong: str, key: str = "") -> None:
        place = demand.place if self._is_own(demand) else ("inherits",)
        is_keyed = bool(key) and self._is_own(demand)
        self._proof.note((*place, key) if is_keyed else place, wrong)

    def _is_own(self, demand: PlacedDemand) -> bool:
        return demand.file == self._file

    def _name(self, demand: PlacedDemand) -> str:
        if self._is_own(demand):
            return f"the demand on line {self._proof.line(demand.place)}"
        return f"a demand of {demand.expectation.origin}"


def _thing_of(connection: str) -> str:
    """`touchpad` for `touchpad-ribbon`."""
    thing, _, link = connection.rpartition("-")
    return thing if thing and link in LINKS else connection


def _as_id(words: str) -> str:
    return "-".join(words.casefold().replace("_", " ").split())
