"""A whole unit of the demo, judged again with one of its readings replaced.

Readers are functions of what they ask, so only those that asked the replaced question are run
again; the sections of the others stand. A question that was never recorded, which a reader may
ask once another failed, is answered as the test says.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from functools import cached_property
from typing import Final

from closeout.check import Terms
from closeout.cli.demo import DemoUnit, demo_units
from closeout.cli.terms import load_demands
from closeout.expect.merge import expectations_of
from closeout.expect.parts import parts_of
from closeout.judge.built_in import place_built_in
from closeout.judge.demands import judge_inventory
from closeout.kernel.record import Answer, Failure, Question, Record
from closeout.kernel.recorded import NOT_RECORDED
from closeout.kernel.replies import Replies
from closeout.model.expectation import Expectation, Weight
from closeout.model.finding import Finding
from closeout.model.inventory import Inventory, Section
from closeout.model.part_demand import PartDemand
from closeout.model.reading import Value
from closeout.readers import READERS
from closeout.readers.reader import Reader

ORDER_FILE: Final = "work-order.toml"


class ListeningTree(Replies):
    """Answers from records, one of them replaced, and notes what was asked."""

    def __init__(
        self,
        records: Mapping[Question, Record],
        replaced: Mapping[Question, Answer],
        unrecorded: Failure = NOT_RECORDED,
    ) -> None:
        self._records = records
        self._replaced = replaced
        self._unrecorded = unrecorded
        self.asked: set[Question] = set()

    def reply(self, question: Question) -> Answer:
        """As recorded or replaced."""
        self.asked.add(question)
        if question in self._replaced:
            return self._replaced[question]
        record = self._records.get(question)
        return self._unrecorded if record is None else record.answer


@dataclass(frozen=True, kw_only=True)
class RejudgedUnit:
    """A demo unit under its own work order and profile."""

    unit: DemoUnit
    name: str = field(default="")

    @cached_property
    def records(self) -> Mapping[Question, Record]:
        """Every recorded question."""
        return {record.question: record for record in self.unit.evidence().records}

    @cached_property
    def askers(self) -> Mapping[Question, tuple[Reader, ...]]:
        """Which readers ask a question."""
        askers: dict[Question, tuple[Reader, ...]] = {}
        for reader in READERS:
            tree = ListeningTree(self.records, {})
            read_section(tree, reader)
            for question in tree.asked:
                askers[question] = (*askers.get(question, ()), reader)
        return askers

    @cached_property
    def sections(self) -> Mapping[str, Section]:
        """Every section as it was recorded."""
        tree = ListeningTree(self.records, {})
        return {reader.kind: read_section(tree, reader) for reader in READERS}

    @cached_property
    def findings(self) -> tuple[Finding, ...]:
        """What the unit was found to be with every reading as recorded."""
        return self._judge(self.sections)

    @cached_property
    def _by_text(self) -> Mapping[str, tuple[Question, ...]]:
        by_text: dict[str, tuple[Question, ...]] = {}
        for question in self.records:
            by_text[question.text] = (*by_text.get(question.text, ()), question)
        return by_text

    def questions_of(self, source: str) -> tuple[Question, ...]:
        """The recorded questions that the source of a reading names; `#` opens a part of one."""
        whole = self._by_text.get(source, ())
        return whole or self._by_text.get(source.split("#", maxsplit=1)[0], ())

    def musts(self) -> tuple[Finding, ...]:
        """The findings that decide."""
        return tuple(finding for finding in self.findings if finding.weight is Weight.MUST)

    def with_answer(
        self, question: Question, answer: Answer, unrecorded: Failure = NOT_RECORDED
    ) -> tuple[Finding, ...]:
        """The findings with one answer replaced."""
        tree = ListeningTree(self.records, {question: answer}, unrecorded)
        again = {reader.kind: read_section(tree, reader) for reader in self.askers[question]}
        return self._judge({**self.sections, **again})

    @cached_property
    def _terms(self) -> Terms:
        demands = load_demands(None, self.unit.folder / ORDER_FILE)
        return demands.terms(Inventory(sections=tuple(self.sections.values())), attempt=1)

    @cached_property
    def _expectations(self) -> tuple[Expectation, ...]:
        return tuple(expectations_of(self._terms.profile, self._terms.work_order))

    @cached_property
    def _parts(self) -> tuple[PartDemand, ...]:
        return parts_of(self._terms.profile, self._terms.work_order)

    def _judge(self, sections: Mapping[str, Section]) -> tuple[Finding, ...]:
        inventory = Inventory(sections=tuple(sections.values()))
        placed = place_built_in(inventory, self._terms.profile.built_in)
        return judge_inventory(placed, self._expectations, self._terms.catalogue, self._parts)


def read_section(tree: Replies, reader: Reader) -> Section:
    """One kind as `check` reads it, but that a fault of the reader itself is raised."""
    listing = reader.find(tree)
    places = listing.value if isinstance(listing, Value) else ()
    devices = tuple(reader.read(tree, place) for place in places)
    return Section(kind=reader.kind, listing=listing, devices=devices)


def whole_units() -> Iterable[RejudgedUnit]:
    """Every unit of the demo."""
    for unit in demo_units():
        yield RejudgedUnit(unit=unit, name=unit.folder.name)
