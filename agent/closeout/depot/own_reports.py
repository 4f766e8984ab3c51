"""Which reports are of a unit: those that name it, and the records of its orders that name none.

A unit that does not start is recorded as unrun: nothing of it was read, so the record knows its
order alone. It is of the unit that was checked under that order, where that is one.
"""

from __future__ import annotations

from sqlalchemy import ColumnElement, literal, or_, select

from closeout.depot.tables import report


def reports_of(unit: str) -> ColumnElement[bool]:
    """The condition for the rows of the reports of a unit."""
    own = report.alias("own")
    other = report.alias("other")
    by_order = literal("order ") + report.c.work_order
    orders = select(own.c.work_order).where(own.c.unit == unit, own.c.work_order != "")
    is_shared = (
        select(other.c.id)
        .where(
            other.c.work_order == report.c.work_order,
            other.c.unit != unit,
            other.c.unit != by_order,
        )
        .exists()
    )
    is_unrun = (report.c.kind == "unrun") & (report.c.unit == by_order)
    return or_(report.c.unit == unit, is_unrun & report.c.work_order.in_(orders) & ~is_shared)
