"""The questions of `closeout depot collisions` about identities: few rows come back, to be judged.

A value has a second unit where the least and the greatest of its units differ: that needs one pass
and no list of units, on every engine.
"""

from __future__ import annotations

from typing import Final

from closeout.depot.questions.engine import Expression, ibis
from closeout.depot.questions.opening import Index
from closeout.depot.questions.orders import judged

MOST_UNITS: Final = 5
"""A value on more units than that is no clash but a filler that nobody knew yet."""
LABEL: Final = "label"
"""The kind under which the label's serial stands among the identities."""
LABELLED: Final = "label "
"""So begins a unit that is known by its label."""


def met_twice(index: Index, *, by_hash: bool) -> Expression:
    """The rows of every identity value that was met on two units: few, and to be kept.

    With `by_hash` rows are gathered by a number of 64 bits in place of the texts. Two values with
    the same number may let a value pass here that has one unit; `counted` leaves it out.
    """
    rows = index.identity.select("report_id", "kind", "value", "unit", "board")
    keys = ["kind", "value"]
    if by_hash:
        rows, keys = rows.mutate(key=(rows.kind + rows["value"]).hash()), ["key"]
    return rows.semi_join(_several(rows, keys, "unit"), keys).drop(*keys if by_hash else ())


def labels_met_twice(index: Index) -> Expression:
    """The same of label serials that were met on two system boards.

    By the label that the unit is known by: where the one on the bench was scanned, what its order
    says is another unit's.
    """
    reports = index.report
    told = reports.filter(reports.unit.startswith(LABELLED) & (reports.board != ""))
    several = _several(told, ["unit"], "board")
    rows = told.semi_join(several, "unit")
    return rows.select(
        report_id="id",
        kind=ibis.literal(LABEL),
        value=rows.unit.substr(len(LABELLED)),
        unit="unit",
        board="board",
    )


def counted(rows: Expression, owner: str) -> Expression:
    """On how many units, or boards, each value was met, and in how many reports."""
    found = rows.group_by("kind", "value").aggregate(units=rows[owner].nunique(), rows=rows.count())
    return found.filter(found.units > 1)


def sightings(index: Index, rows: Expression, owner: str) -> Expression:
    """Where each of these values was seen: unit, board, order, when, and in which report."""
    met = counted(rows, owner)
    few = met.filter(met.units <= MOST_UNITS).select("kind", "value")
    told = index.report.select("id", "work_order", "started_at", "digest", "station")
    seen = rows.semi_join(few, ["kind", "value"])
    seen = seen.inner_join(told, seen.report_id == told.id)
    keys = ("kind", "value", "unit", "board", "work_order", "station")
    return seen.group_by(keys).aggregate(
        first=seen.started_at.min(),
        last=seen.started_at.max(),
        reports=seen.count(),
        digest=seen.digest.min(),
    )


def works(index: Index, rows: Expression) -> Expression:
    """What was done to the units of these rows: each order, when it began, whether it swapped."""
    reports = _reports_of(index, rows)
    return reports.group_by("unit", "work_order").aggregate(
        first=reports.started_at.min(), board_swaps=reports.replaces_board.ifelse(1, 0).sum()
    )


def part_moves(index: Index, rows: Expression) -> Expression:
    """Which parts these orders fitted and removed."""
    reports = _reports_of(index, rows).select("id", "unit", "work_order")
    parts = index.part.inner_join(reports, index.part.report_id == reports.id)
    parts = parts.select("unit", "work_order", "kind", "is_fitted", "part_number", "serial")
    return parts.distinct()


def _several(rows: Expression, keys: list[str], owner: str) -> Expression:
    """The keys that have more than one owner."""
    grouped = rows.group_by(keys).aggregate(least=rows[owner].min(), most=rows[owner].max())
    return grouped.filter(grouped.least != grouped.most).select(keys)


def _reports_of(index: Index, rows: Expression) -> Expression:
    return index.report.semi_join(rows.select("unit").distinct(), "unit")


def untold(index: Index) -> Expression:
    """How many judged reports name neither label nor board: their units cannot be told apart."""
    rows = judged(index.report)
    nameless = rows.filter((rows.label_serial == "") & (rows.board == ""))
    return nameless.aggregate(reports=nameless.count())
