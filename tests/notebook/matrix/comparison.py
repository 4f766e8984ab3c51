"""What a run found against what was planted: caught, named right, and what it cried wolf about."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from notebook.matrix.case import Case
from notebook.matrix.fault import Fault, Told


@dataclass(frozen=True, slots=True, kw_only=True)
class Named:
    """One planted fault and what became of it."""

    fault: Fault
    caught: bool
    """One of its rules, at least, says something other than a pass and than on a healthy one."""
    missed: tuple[Told, ...]
    """Findings that it must lead to and that are not there word for word."""

    @property
    def right(self) -> bool:
        """Every finding is there: part, field, expected, found."""
        return not self.missed


@dataclass(frozen=True, slots=True, kw_only=True)
class Compared:
    """A case: each of its faults, and findings that no fault leads to."""

    case: Case
    named: tuple[Named, ...]
    alarms: tuple[Told, ...]
    lost: tuple[Told, ...]
    """What the healthy notebook is told of, open without a person, and this one is not."""

    @property
    def right(self) -> bool:
        """Exactly its faults and nothing else."""
        return all(one.right for one in self.named) and not self.alarms and not self.lost


def compare(case: Case, found: Sequence[Told], healthy: Iterable[Told]) -> Compared:
    """The run's findings that are no pass against the planted, and against the healthy one's."""
    usual = set(healthy)
    planted = case.expected
    new = [told for told in found if told not in usual]
    alarms = tuple(told for told in new if not any(one.covers(told) for one in planted))
    about = {(told.rule, told.subject) for told in new}
    lost = tuple(
        told for told in sorted(usual - set(found)) if (told.rule, told.subject) not in about
    )
    named = tuple(_name(fault, new) for fault in case.faults)
    return Compared(case=case, named=named, alarms=alarms, lost=lost)


def _name(fault: Fault, new: Sequence[Told]) -> Named:
    missed = tuple(one for one in fault.finding if not any(one.covers(told) for told in new))
    rules = {one.rule for one in fault.finding}
    caught = any(told.rule in rules for told in new)
    return Named(fault=fault, caught=caught, missed=missed)
