"""The questions of `closeout depot collisions` about identities: few rows come back, to be judged.

A value has a second unit where the least and the greatest of its units differ: that needs one pass
and no list of units, on every engine.
"""

from __future__ import annotations

from typing import Final

from closeout.depot.questions.engine import Expression, Row, ibis
from closeout.depot.questions.opening import Index
from closeout.depot.questions.orders import judged

MOST_UNITS: Final = 5
"""A value on more units than that is no clash but a filler that nobody knew yet."""
LABEL: Final = "label"
"""The kind under which the label's serial stands among the identities."""


def met_twice(index: Index, *, by_hash: bool) -> Expression:
    """Every identity value that was met on two units, with how many units and reports have it.

    With `by_hash` rows are gathered by a number of 64 bits in place of the texts; a pair of values
    with the same number is parted again in the second step.
    """
    rows = index.identity
    keys = ["kind", "value"]
    if by_hash:
        rows, keys = rows.mutate(key=(rows.kind + rows["value"]).hash()), ["key"]
    several = rows.group_by(keys).having(rows.unit.min() != rows.unit.max())
    several = several.aggregate(least=rows.unit.min()).drop("least")
    met = rows.semi_join(several, keys)
    counted = met.group_by("kind", "value").aggregate(units=met.unit.nunique(), rows=met.count())
    return counted.filter(counted.units > 1)


def labels_met_twice(index: Index) -> Expression:
    """Every label serial that was met on two system boards, with how many boards."""
    rows = _labelled(index)
    several = rows.group_by("label_serial").having(rows.board.min() != rows.board.max())
    several = several.aggregate(units=rows.board.nunique(), rows=rows.count())
    return several.select("units", "rows", kind=ibis.literal(LABEL), value="label_serial")


def sightings(index: Index, met: list[Row]) -> Expression:
    """Where each of these values was seen: unit, board, order, when first and last, which report."""
    wanted = {(row["kind"], row["value"]) for row in met}
    few = ibis.memtable(
        [{"kind": kind, "value": value} for kind, value in sorted(wanted)],
        schema={"kind": "string", "value": "string"},
    )
    rows = index.identity.semi_join(few, ["kind", "value"])
    told = index.report.select(
        "id", "work_order", "started_at", "digest", "station", own_kind="kind"
    )
    return _gathered(rows.inner_join(told, rows.report_id == told.id))


def sightings_of_labels(index: Index, met: list[Row]) -> Expression:
    """The same of label serials."""
    told = _labelled(index)
    rows = told.filter(told.label_serial.isin(sorted(row["value"] for row in met)))
    return _gathered(rows.mutate(kind=ibis.literal(LABEL), value=rows.label_serial))


def _gathered(rows: Expression) -> Expression:
    keys = ("kind", "value", "unit", "board", "work_order", "station")
    return rows.group_by(keys).aggregate(
        first=rows.started_at.min(),
        last=rows.started_at.max(),
        reports=rows.count(),
        digest=rows.digest.min(),
    )


def _labelled(index: Index) -> Expression:
    reports = index.report
    return reports.filter((reports.label_serial != "") & (reports.board != ""))


def works(index: Index, units: list[str]) -> Expression:
    """What was done to these units: each order, when it began, whether it replaced the board."""
    rows = index.report.filter(index.report.unit.isin(units))
    return rows.group_by("unit", "work_order").aggregate(
        first=rows.started_at.min(), board_swaps=rows.replaces_board.ifelse(1, 0).sum()
    )


def part_moves(index: Index, units: list[str]) -> Expression:
    """Which parts these orders fitted and removed."""
    reports = index.report.filter(index.report.unit.isin(units))
    reports = reports.select("id", "unit", "work_order")
    rows = index.part.inner_join(reports, index.part.report_id == reports.id)
    rows = rows.select("unit", "work_order", "kind", "is_fitted", "part_number", "serial")
    return rows.distinct()


def untold(index: Index) -> Expression:
    """How many judged reports name neither a label nor a board: their units cannot be told apart."""
    rows = judged(index.report)
    nameless = rows.filter((rows.label_serial == "") & (rows.board == ""))
    return nameless.aggregate(reports=nameless.count())
