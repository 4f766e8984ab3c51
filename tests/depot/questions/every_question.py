"""Every question with its answer in an order of its own, so that engines can be compared."""

import json
import sys
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from closeout.depot.questions import comparing, crossing, orders, summing
from closeout.depot.questions.engine import Expression, rows_of
from closeout.depot.questions.opening import Ledger, open_ledger

DAYS = 60
WEEKS = ("2025-W05", "2025-W12")


def questions(
    ledger: Ledger, ends: Expression, rounds: Expression, until: int
) -> Mapping[str, Expression]:
    window = comparing.within(ends, WEEKS)
    met = crossing.met_twice(ledger, by_hash=False)
    labels = crossing.labels_met_twice(ledger)
    few = [row for row in rows_of(met) if row["units"] <= crossing.MOST_UNITS]
    seen = crossing.sightings(ledger, few)
    units = sorted({row["unit"] for row in rows_of(seen)})
    return {
        "kinds": summing.kinds_of_reports(ledger.report),
        "span": summing.span(ledger.report),
        **{f"yields by {by}": summing.yields(ends, by) for by in ("model", "repairs", "week")},
        "findings": summing.findings(ledger, rounds),
        "reseats": summing.reseats(ledger, rounds),
        "lost": summing.seconds_lost(ledger, rounds),
        "returns": summing.returns(ends, DAYS, until),
        "returned": summing.returned(ends, DAYS, 20),
        "builds": summing.first_seen(ledger.report, "stick_build"),
        "latest": summing.latest_of_stations(ledger.report),
        "met twice": met,
        "labels": labels,
        "sightings": seen,
        "sightings of labels": crossing.sightings_of_labels(ledger, rows_of(labels)),
        "works": crossing.works(ledger, units),
        "part moves": crossing.part_moves(ledger, units),
        "untold": crossing.untold(ledger),
        "work": comparing.work_of_stations(window),
        "station findings": comparing.findings_of_stations(ledger, window),
        "profiles": comparing.units_of_profiles(ends),
        "profile failures": comparing.failures_of_profiles(ledger, ends),
        "found": comparing.found_by_profiles(ledger, ends, ["display.size"]),
        "fitted": comparing.fitted_parts(ledger, ends, DAYS),
    }


def every_answer(ledger: Ledger) -> dict[str, list[str]]:
    until = rows_of(summing.span(ledger.report))[0]["last"]
    with orders.ends_of_orders(ledger.report).cache() as ends:
        with orders.attempts(ledger.report).cache() as rounds:
            asked = questions(ledger, ends, rounds, until)
            return {name: sorted(map(_text, rows_of(one))) for name, one in asked.items()}


def _text(row: Mapping[str, Any]) -> str:
    return json.dumps(row, sort_keys=True, default=int)


if __name__ == "__main__":
    place, master, out = sys.argv[1:]
    Path(out).write_text(json.dumps(every_answer(open_ledger(place, master))), "utf-8")
