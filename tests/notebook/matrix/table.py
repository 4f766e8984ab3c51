"""The table of a matrix: planted, caught, named right, false alarms; by level, class and kind."""

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass

from notebook.matrix.comparison import Named
from notebook.matrix.fault import LEVELS
from notebook.matrix.outcome import Outcome

HEAD = ("", "planted", "caught", "named right", "false alarms")


@dataclass(frozen=True, slots=True, kw_only=True)
class Row:
    """One line of the table."""

    name: str
    planted: int
    caught: int
    right: int
    alarms: int

    def cells(self) -> tuple[str, ...]:
        """Its five cells."""
        return (self.name, *map(str, (self.planted, self.caught, self.right, self.alarms)))


def row(name: str, outcomes: Iterable[Outcome], belongs: Callable[[Named], bool]) -> Row:
    """The faults that belong there; a false alarm counts once in each case that has one."""
    chosen = [
        (outcome, [named for named in outcome.compared.named if belongs(named)])
        for outcome in outcomes
    ]
    counted = [(outcome, named) for outcome, named in chosen if named or not outcome.case.faults]
    faults = [one for _, named in counted for one in named]
    return Row(
        name=name,
        planted=len(faults),
        caught=sum(one.caught for one in faults),
        right=sum(one.right for one in faults),
        alarms=sum(len(outcome.compared.alarms) for outcome, _ in counted),
    )


def rows(outcomes: Sequence[Outcome]) -> Iterator[Row]:
    """By kind of case, then the single faults by level and by class."""
    of = {
        kind: [one for one in outcomes if one.kind == kind]
        for kind in ("single", "pair", "healthy")
    }
    yield row("single faults", of["single"], lambda _: True)
    for level in LEVELS:
        yield row(
            f"level: {level}", of["single"], lambda one, level=level: one.fault.level == level
        )
    sorts = sorted({one.fault.sort for outcome in of["single"] for one in outcome.compared.named})
    for sort in sorts:
        yield row(f"class: {sort}", of["single"], lambda one, sort=sort: one.fault.sort == sort)
    yield row(f"faults of {len(of['pair'])} pairs", of["pair"], lambda _: True)
    yield row(f"{len(of['healthy'])} healthy variations", of["healthy"], lambda _: True)


def show_table(outcomes: Sequence[Outcome]) -> str:
    """The table in Markdown, which reads as plain text too."""
    lines = [HEAD, *(one.cells() for one in rows(outcomes))]
    widths = [max(len(line[at]) for line in lines) for at in range(len(HEAD))]
    shown = ["| " + " | ".join(_padded(line, widths)) + " |" for line in lines]
    rule = "|" + "|".join("-" * (width + 2) for width in widths) + "|"
    return "\n".join([shown[0], rule, *shown[1:]])


def _padded(line: Sequence[str], widths: Sequence[int]) -> Iterator[str]:
    for at, (cell, width) in enumerate(zip(line, widths, strict=True)):
        yield cell.rjust(width) if at else cell.ljust(width)


def show_troubles(outcomes: Iterable[Outcome]) -> Iterator[str]:
    """A line for everything that is not as it should be."""
    for outcome in outcomes:
        for trouble in outcome.troubles:
            yield f"{outcome.case.name}: {trouble}"
