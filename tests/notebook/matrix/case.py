"""What is run: a notebook with one fault, with two, or with none and another healthy thing."""

import random
from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from itertools import combinations
from typing import Final

from notebook.matrix.fault import Fault, Told
from notebook.matrix.healthy import Healthy
from notebook.matrix.variant import Change, Variant, vary

SEED: Final = 20261129
PLUS: Final = "+"


@dataclass(frozen=True, slots=True, kw_only=True)
class Case:
    """One run of the check: on which notebook, and what is planted or varied."""

    notebook: str
    faults: tuple[Fault, ...] = ()
    healthy: Healthy | None = None

    @property
    def name(self) -> str:
        """`fen-14/fan-stopped+lid-shut`."""
        told = [fault.name for fault in self.faults]
        told += [self.healthy.name] if self.healthy else []
        return f"{self.notebook}/{PLUS.join(told) or 'healthy'}"

    @property
    def expected(self) -> tuple[Told, ...]:
        """Every finding that its faults must lead to."""
        return tuple(told for fault in self.faults for told in fault.finding)

    @property
    def plant(self) -> tuple[str, ...]:
        """What is done inside the guest."""
        words = [word for fault in self.faults for word in fault.plant]
        return (*words, *(self.healthy.plant if self.healthy else ()))

    def variant(self) -> Variant:
        """The notebook as it is started, and as it is then."""
        changes: list[Fault | Healthy] = [*self.faults]
        changes += [self.healthy] if self.healthy else []
        return vary(
            self.notebook,
            (Change(without=one.without, change=one.change) for one in changes),
        )


def singles(faults: Iterable[Fault]) -> Iterator[Case]:
    """A case for each fault."""
    return (Case(notebook=fault.notebook, faults=(fault,)) for fault in faults)


def draw_pairs(faults: Sequence[Fault], count: int, seed: int = SEED) -> tuple[Case, ...]:
    """So many different pairs of faults of one notebook, none masked; the same for the same seed.

    ValueError where there are not so many.
    """
    possible = [pair for pair in combinations(faults, 2) if pair[0].notebook == pair[1].notebook]
    unmasked = [pair for pair in possible if not is_masked(*pair)]
    if count > len(unmasked):
        raise ValueError(f"there are {len(unmasked)} pairs, {count} are asked for")
    drawn = random.Random(seed).sample(unmasked, count)  # noqa: S311 - no secret
    return tuple(Case(notebook=pair[0].notebook, faults=pair) for pair in drawn)


def is_masked(one: Fault, other: Fault) -> bool:
    """One may hide the other: they change the same part, or would be told in the same finding.

    Decided by what the fault files say, never by what a run found.
    """
    told = {(finding.rule, finding.subject) for finding in one.finding}
    same_part = any(_overlap(part, its) for part in one.parts for its in other.parts)
    return same_part or any((finding.rule, finding.subject) in told for finding in other.finding)


def _overlap(part: str, other: str) -> bool:
    """The same, or one of them holds the other: `memory` and `memory.a`."""
    return f"{part}.".startswith(f"{other}.") or f"{other}.".startswith(f"{part}.")


def count_masked(faults: Sequence[Fault]) -> tuple[int, int]:
    """How many pairs there are, and how many of them are masked."""
    counts = Counter(
        is_masked(*pair) for pair in combinations(faults, 2) if pair[0].notebook == pair[1].notebook
    )
    return counts.total(), counts[True]
