"""Every question with its answer in an order of its own, so that engines can be compared."""

import json
import sys
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from closeout.depot.questions import comparing, crossing, orders, summing
from closeout.depot.questions.engine import Expression, rows_of
from closeout.depot.questions.opening import Index, open_index

DAYS = 60
WEEKS = ("2025-W05", "2025-W12")


def questions(
    index: Index, ends: Expression, rounds: Expression, until: int
) -> Mapping[str, Expression]:
    window = comparing.within(ends, WEEKS)
    met = crossing.met_twice(index, by_hash=False)
    labels = crossing.labels_met_twice(index)
    few = [row for row in rows_of(met) if row["units"] <= crossing.MOST_UNITS]
    seen = crossing.sightings(index, few)
    units = sorted({row["unit"] for row in rows_of(seen)})
    return {
        "kinds": summing.kinds_of_reports(index.report),
        "span": summing.span(index.report),
        **{f"yields by {by}": summing.yields(ends, by) for by in ("model", "repairs", "week")},
        "findings": summing.findings(index, rounds),
        "reseats": summing.reseats(index, rounds),
        "lost": summing.seconds_lost(index, rounds),
        "returns": summing.returns(ends, DAYS, until),
        "returned": summing.returned(ends, DAYS, 20),
        "builds": summing.first_seen(index.report, "stick_build"),
        "latest": summing.latest_of_stations(index.report),
        "met twice": met,
        "labels": labels,
        "sightings": seen,
        "sightings of labels": crossing.sightings_of_labels(index, rows_of(labels)),
        "works": crossing.works(index, units),
        "part moves": crossing.part_moves(index, units),
        "untold": crossing.untold(index),
        "work": comparing.work_of_stations(window),
        "station findings": comparing.findings_of_stations(index, window),
        "profiles": comparing.units_of_profiles(ends),
        "profile failures": comparing.failures_of_profiles(index, ends),
        "found": comparing.found_by_profiles(index, ends, ["display.size"]),
        "fitted": comparing.fitted_parts(index, ends, DAYS),
    }


def every_answer(index: Index) -> dict[str, list[str]]:
    until = rows_of(summing.span(index.report))[0]["last"]
    with orders.ends_of_orders(index.report).cache() as ends:
        with orders.attempts(index.report).cache() as rounds:
            asked = questions(index, ends, rounds, until)
            return {name: sorted(map(_text, rows_of(one))) for name, one in asked.items()}


def _text(row: Mapping[str, Any]) -> str:
    return json.dumps(row, sort_keys=True, default=int)


if __name__ == "__main__":
    place, master, out = sys.argv[1:]
    Path(out).write_text(json.dumps(every_answer(open_index(place, master))), "utf-8")
