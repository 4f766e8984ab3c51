"""What a depot's reports add up to: asked of the index, then turned into shares."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from fractions import Fraction
from itertools import accumulate
from typing import Final, TypeAlias

from closeout.depot.old_sticks import Stale, find_old_sticks
from closeout.depot.questions import summing
from closeout.depot.questions.engine import Expression, Row, only_row, rows_of
from closeout.depot.questions.opening import Index
from closeout.depot.questions.orders import (
    GROUPS,
    JOINT,
    REPAIR,
    attempts,
    ends_of_orders,
    judged,
    narrow,
)
from closeout.depot.statistics.wilson import Share, share_of
from closeout.model.frozen import field, frozen

DAY: Final = 86_400
MINUTE: Final = 60
MOST_RETURNED: Final = 50
"""Units named that came back; all of them are counted."""
DRAFT: Final = "draft"
Answers: TypeAlias = tuple[list[Row], list[Row], list[Row], list[Row]]
"""Of one kind of group: yields, findings, reseats and seconds lost."""


@frozen
class Terms:
    """What is asked: `days` to come back in, and how much older a stick may be than the newest.

    `only` are the names of one model, repair, station or week, where not all is asked for.
    """

    days: int
    stale_days: int
    now: int
    only: Mapping[str, str] = field(default_factory=dict)


@frozen
class Often:
    """A rule that failed or was answered no, or what to reseat: in how many orders.

    Of a rule also in how many others it is `open`, since nobody could tell or nobody has looked,
    and how many of both it kept back.
    """

    name: str
    orders: int
    open: int = 0
    kept_back: int = 0


@frozen
class Lost:
    """Minutes between an attempt without release and the next, by the rule that was at fault."""

    rule: str
    minutes: float
    pauses: int
    unproven: int


@frozen
class Tally:
    """What orders add up to: all, or those of one model, repair, station or week.

    `first` are those released at the first attempt, `final` those released at last.
    """

    name: str
    first: Share
    final: Share
    findings: tuple[Often, ...] = ()
    reseats: tuple[Often, ...] = ()
    lost: tuple[Lost, ...] = ()

    @property
    def minutes(self) -> float:
        """All that were lost."""
        return sum(each.minutes for each in self.lost)


@frozen
class Returned:
    """A unit that came back: released with one order, begun again with the next."""

    unit: str
    model: str
    station: str
    order: str
    next_order: str
    days: int


@frozen
class Summary:
    """All of it. `returns` is of the orders that are old enough for the days to be over."""

    terms: Terms
    units: int
    first: int
    last: int
    attempts: int
    drafts: int
    unrun: Mapping[str, int]
    whole: Tally
    by: Mapping[str, tuple[Tally, ...]]
    returns: Share
    returned: tuple[Returned, ...]
    stale: tuple[Stale, ...]


def sum_up(index: Index, terms: Terms) -> Summary:
    """Asks all questions; no order in it is left to the engine."""
    with attempts(index).cache() as all_rounds, ends_of_orders(index, all_rounds).cache() as every:
        ends = narrow(every, terms.only)
        rounds = all_rounds.filter(all_rounds.job.isin(ends.job)) if terms.only else all_rounds
        reports = judged(index.report)
        span = only_row(summing.span(reports))
        latest = min(span["last"], terms.now)
        if terms.only or index.begun is not None:
            span = only_row(summing.span(reports.filter(reports.job.isin(ends.job))))
        followed = narrow(summing.followed(every), terms.only)
        back = only_row(summing.returns(followed, terms.days, latest))
        returned = rows_of(summing.returned(followed, terms.days, MOST_RETURNED))
        answers = _answers_by_group(index, rounds, ends)
        taken = only_row(rounds.aggregate(attempts=rounds.count()))["attempts"]
    kinds = rows_of(summing.kinds_of_reports(narrow(index.report, terms.only)))
    return Summary(
        terms=terms,
        units=span["units"],
        first=span["first"],
        last=span["last"],
        attempts=taken,
        drafts=sum(row["reports"] for row in kinds if row["kind"] == DRAFT),
        unrun=_unrun(kinds),
        whole=_tally("all", *answers["model"]),
        by={name: _tally_each(answers[name], column) for name, column in GROUPS.items()},
        returns=share_of(back["back"], back["released"]),
        returned=_returned(returned),
        stale=tuple(find_old_sticks(index, terms.stale_days, terms.now)),
    )


def names_of(index: Index, group: str) -> tuple[str, ...]:
    """Every model, repair, station or week that orders have; a repair also by itself."""
    column = GROUPS[group]
    rows = rows_of(judged(index.report).select(column).distinct())
    names = {row[column] for row in rows}
    if group == REPAIR:
        names |= {each for name in names for each in name.split(JOINT)}
    return tuple(sorted(names))


def _answers_by_group(index: Index, rounds: Expression, ends: Expression) -> dict[str, Answers]:
    with (
        summing.findings(index, rounds, ends).cache() as found,
        summing.reseats(index, rounds, ends).cache() as advised,
        summing.seconds_lost(index, rounds, ends).cache() as lost,
    ):
        return {
            name: (
                rows_of(summing.yields(ends, column)),
                rows_of(summing.findings_by(found, column)),
                rows_of(summing.reseats_by(advised, column)),
                rows_of(summing.seconds_by(lost, column)),
            )
            for name, column in GROUPS.items()
        }


def _tally_each(answers: Answers, column: str) -> tuple[Tally, ...]:
    """A tally for each value of the column, in the order of their names."""
    yields, *others = (_apart(rows, column) for rows in answers)
    return tuple(
        _tally(name, yields[name], *(rows.get(name, ()) for rows in others))
        for name in sorted(yields)
    )


def cumulate(found: Iterable[Often]) -> tuple[tuple[Often, float], ...]:
    """Each with the share that it and those before it have of all (Pareto's way to look)."""
    known = tuple(found)
    total = sum(each.orders for each in known)
    so_far = accumulate(each.orders for each in known)
    return tuple(
        (each, count / total if total else 1.0) for each, count in zip(known, so_far, strict=True)
    )


def _apart(rows: Iterable[Row], column: str) -> dict[str, list[Row]]:
    apart: dict[str, list[Row]] = {}
    for row in rows:
        apart.setdefault(row[column], []).append(row)
    return apart


def _tally(
    name: str,
    yields: Sequence[Row],
    findings: Sequence[Row],
    reseats: Sequence[Row],
    lost: Sequence[Row],
) -> Tally:
    orders = sum(row["orders"] for row in yields)
    return Tally(
        name=name,
        first=share_of(sum(row["at_first"] for row in yields), orders),
        final=share_of(sum(row["at_last"] for row in yields), orders),
        findings=_often(findings, "rule"),
        reseats=_often(reseats, "action"),
        lost=_lost(lost),
    )


def _often(rows: Iterable[Row], column: str) -> tuple[Often, ...]:
    """The most frequent first."""
    found = [
        Often(
            name=name,
            orders=sum(row["orders"] for row in own),
            open=sum(row.get("open", 0) for row in own),
            kept_back=sum(row.get("kept_back", 0) for row in own),
        )
        for name, own in _apart(rows, column).items()
    ]
    return tuple(sorted(found, key=lambda each: (-each.orders, -each.open, each.name)))


def _lost(rows: Iterable[Row]) -> tuple[Lost, ...]:
    """Each pause is shared equally among the findings that kept the unit back."""
    found = [
        Lost(
            rule=rule,
            minutes=float(sum(Fraction(row["seconds"], row["among"]) for row in own) / MINUTE),
            pauses=sum(row["pauses"] for row in own),
            unproven=sum(row["unproven"] for row in own),
        )
        for rule, own in _apart(rows, "rule").items()
    ]
    return tuple(sorted(found, key=lambda each: (-each.minutes, each.rule)))


def _unrun(kinds: Iterable[Row]) -> dict[str, int]:
    told = {row["why_unrun"]: row["reports"] for row in kinds if row["kind"] == "unrun"}
    return dict(sorted(told.items()))


def _returned(rows: Iterable[Row]) -> tuple[Returned, ...]:
    ordered = sorted(rows, key=lambda row: (-row["next_started"], row["unit"], row["job"]))
    return tuple(
        Returned(
            unit=row["unit"],
            model=row["model"],
            station=row["station"],
            order=row["job"],
            next_order=row["next_job"],
            days=(row["next_started"] - row["last_finished"]) // DAY,
        )
        for row in ordered
    )
