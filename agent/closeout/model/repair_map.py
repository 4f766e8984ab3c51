"""What each repair disturbs: connections, how they fail, and what proves each of them good."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Final

from closeout.model.catalogue import Entry
from closeout.model.expectation import CONNECTION, Expectation, Weight
from closeout.model.frozen import frozen
from closeout.model.report import SourceFile

PROTECT: Final = (
    "Switch off, pull the adapter and unplug the pack before touching a ribbon or plug; the"
    " maker's service instructions come first."
)
"""The caution of a connection that has none of its own."""


@frozen
class Connection:
    """A cable, ribbon, socket or part that hands disturb.

    `demands` are what a reading can prove, `question` what only a person can; one of them may be
    missing. `touches` are the kinds of devices whose proofs are void once it was disturbed again.
    `seconds` is what the question takes in hands.
    """

    id: str
    name: str
    place: str
    carries: str
    fails: tuple[str, ...]
    proof: str
    touches: tuple[str, ...]
    demands: tuple[Expectation, ...]
    question: str
    caution: str
    weight: Weight
    seconds: int

    @property
    def rule(self) -> str:
        """The rule of its question."""
        return f"{CONNECTION}.{self.id}"

    @property
    def where(self) -> str:
        """What to look at, as an advice names it."""
        return f"{self.name}, {self.place}"

    def entry(self) -> Entry:
        """What its question means, in the catalogue's form."""
        told = "; ".join(self.fails)
        return Entry(
            title=f"{self.name[:1].upper()}{self.name[1:]}",
            meaning=f"The repair disturbed it ({self.place}). It carries {self.carries}.",
            impact=f"What goes wrong there: {told}.",
            advice=f"Look at it again, {self.place}: {told}. Good is: {self.proof}.",
            caution=self.caution or PROTECT,
            question=self.question,
            answerable=True,
        )


@frozen
class Repair:
    """One kind of repair, and the ids of the connections that it disturbs."""

    id: str
    title: str
    disturbs: tuple[str, ...]


@frozen
class RepairMap:
    """All repairs and connections by id."""

    source: SourceFile
    connections: Mapping[str, Connection]
    repairs: Mapping[str, Repair]

    def disturbed_by(self, repairs: Iterable[str]) -> tuple[Connection, ...]:
        """The connections that any of the repairs disturbs, in the order of the map.

        Raises KeyError for a repair that is not in the map.
        """
        disturbed = {name for repair in repairs for name in self.repairs[repair].disturbs}
        return tuple(self.connections[name] for name in self.connections if name in disturbed)

    def disturbs(self, repairs: Iterable[str], rule: str) -> bool:
        """Whether a proof under this rule is void once the repairs were done again."""
        kind = rule.partition(".")[0]
        return any(
            rule == connection.rule or kind in connection.touches
            for connection in self.disturbed_by(repairs)
        )
