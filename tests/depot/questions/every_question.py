"""Every question with its answer in an order of its own, so that engines can be compared."""

import json
import sys
from collections.abc import Mapping
from contextlib import ExitStack
from pathlib import Path
from typing import Any

from closeout.depot.questions import comparing, crossing, orders, summing
from closeout.depot.questions.engine import Expression, rows_of
from closeout.depot.questions.opening import Index, open_index

DAYS = 60
FAR = 4_000_000_000
WEEKS = ("2025-W02", "2025-W05")
ONE_REPAIR = {"repair": "keyboard"}


def every_answer(index: Index) -> dict[str, list[str]]:
    """The rows of each answer as sorted lines of JSON."""
    with ExitStack() as kept:

        def keep(question: Expression) -> Expression:
            return kept.enter_context(question.cache())

        rounds = keep(orders.attempts(index))
        ends = keep(orders.ends_of_orders(index, rounds))
        asked = {
            **_summed(index, ends, rounds),
            **_crossed(index, "unit", keep(crossing.met_twice(index, by_hash=False))),
            **_crossed(index, "board", keep(crossing.labels_met_twice(index))),
            **_compared(index, ends, keep(comparing.fitted(index, ends))),
        }
        return {name: sorted(map(_text, rows_of(question))) for name, question in asked.items()}


def _summed(index: Index, ends: Expression, rounds: Expression) -> Mapping[str, Expression]:
    reports = orders.judged(index.report)
    until = rows_of(summing.span(reports))[0]["last"]
    followed = summing.followed(ends)
    found = summing.findings(index, rounds, ends)
    advised = summing.reseats(index, rounds, ends)
    lost = summing.seconds_lost(index, rounds, ends)
    return {
        "kinds": summing.kinds_of_reports(index.report),
        "span": summing.span(reports),
        **{f"yields by {by}": summing.yields(ends, by) for by in ("model", "repairs", "week")},
        **{f"findings by {by}": summing.findings_by(found, by) for by in orders.GROUPS.values()},
        **{f"reseats by {by}": summing.reseats_by(advised, by) for by in orders.GROUPS.values()},
        **{f"lost by {by}": summing.seconds_by(lost, by) for by in orders.GROUPS.values()},
        "returns": summing.returns(followed, DAYS, until),
        "returned": summing.returned(followed, DAYS, 20),
        "returned of one": summing.returned(orders.narrow(followed, ONE_REPAIR), DAYS, 20),
        "builds": summing.days_seen(index.report, "stick_build", until),
        "latest": summing.latest_of_stations(index.report, until),
    }


def _crossed(index: Index, owner: str, met: Expression) -> Mapping[str, Expression]:
    return {
        f"met on two {owner}s": crossing.counted(met, owner),
        f"sightings by {owner}": crossing.sightings(index, met, owner),
        f"works by {owner}": crossing.works(index, met),
        f"parts by {owner}": crossing.part_moves(index, met),
    }


def _compared(index: Index, ends: Expression, fitted: Expression) -> Mapping[str, Expression]:
    window = comparing.within(ends, WEEKS)
    return {
        "untold": crossing.untold(index),
        "work": comparing.work_of_stations(window),
        "station findings": comparing.findings_of_stations(index, window),
        "profiles": comparing.units_of_profiles(ends, FAR),
        "profile failures": comparing.failures_of_profiles(index, ends),
        "found": comparing.found_by_profiles(index, ends, ["display.size"]),
        "fitted": comparing.early_failures(index, ends, fitted, DAYS),
    }


def _text(row: Mapping[str, Any]) -> str:
    return json.dumps(row, sort_keys=True, default=int)


if __name__ == "__main__":
    place, master, out = sys.argv[1:]
    Path(out).write_text(json.dumps(every_answer(open_index(place, master))), "utf-8")
