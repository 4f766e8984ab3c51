"""What orders add up to, against the same counted row by row: all, each group, a part of them."""

from collections import Counter, defaultdict
from collections.abc import Callable, Iterable
from pathlib import Path
from typing import Any

import pyarrow as pa
import pytest

from closeout.depot.questions.opening import Index, open_index
from closeout.depot.summary import Summary, Tally, Terms, cumulate, names_of, sum_up
from depot.fleet import Fleet

FAR = 4_000_000_000
TERMS = Terms(days=30, stale_days=30, now=FAR)
COLUMNS = {"model": "model", "repair": "repairs", "station": "station", "week": "week"}


class Counting:
    """Orders of a fleet, counted without a database: each attempt by its latest revision."""

    def __init__(self, fleet: Fleet) -> None:
        rows = {name: table.to_pylist() for name, table in fleet.tables.items()}
        self.findings, self.steps = by_report(rows["finding"]), by_report(rows["step"])
        self.orders: dict[str, dict[int, dict[str, Any]]] = defaultdict(dict)
        judged = (row for row in rows["report"] if row["kind"] == "judged")
        for row in sorted(judged, key=lambda row: row["revision"]):
            self.orders[row["work_order"]][row["attempt"]] = row

    def tally(self, wanted: Callable[[dict[str, Any]], bool]) -> dict[str, object]:
        """Of the orders whose first attempt is wanted."""
        first = final = orders = 0
        findings: dict[str, Counter[str]] = defaultdict(Counter)
        reseats: Counter[str] = Counter()
        minutes: dict[str, float] = defaultdict(float)
        for attempts in self.orders.values():
            if not wanted(attempts[min(attempts)]):
                continue
            orders += 1
            first += attempts[min(attempts)]["verdict"] == "release"
            final += attempts[max(attempts)]["verdict"] == "release"
            shown = [row for each in attempts.values() for row in self.findings[each["id"]]]
            for rule in {row["rule"] for row in shown if stands(row)}:
                own = [row for row in shown if row["rule"] == rule and stands(row)]
                failed = any(row["outcome"] == "fail" for row in own)
                findings[rule]["orders"] += failed
                findings[rule]["open"] += not failed
                findings[rule]["kept_back"] += any(row["weight"] == "must" for row in own)
            steps = [row for each in attempts.values() for row in self.steps[each["id"]]]
            reseats.update({row["action"] for row in steps})
            for number, each in attempts.items():
                self._share_pause(each, attempts.get(number + 1), minutes)
        return {
            "yield": (orders, first, final),
            "findings": {rule: dict(counts) for rule, counts in findings.items()},
            "reseats": dict(reseats),
            "minutes": pytest.approx(dict(minutes)),
        }

    def _share_pause(
        self, each: dict[str, Any], following: dict[str, Any] | None, minutes: dict[str, float]
    ) -> None:
        if following is None or each["verdict"] == "release":
            return
        lost = following["started_at"] - each["finished_at"]
        if following["day"] != each["day"] or lost > 4 * 3600:
            return
        held = [row for row in self.findings[each["id"]] if stands(row) and row["weight"] == "must"]
        for row in held:
            minutes[row["rule"]] += lost / len(held) / 60


def by_report(rows: Iterable[dict[str, Any]]) -> dict[int, list[dict[str, Any]]]:
    found: dict[int, list[dict[str, Any]]] = defaultdict(list)
    for row in rows:
        found[row["report_id"]].append(row)
    return found


def stands(row: dict[str, Any]) -> bool:
    """The fleet's findings are failures, or reviews that a person may have answered."""
    return row["outcome"] == "fail" or row["answer"] != "yes"


def told(tally: Tally) -> dict[str, object]:
    """A tally in the form in which they are counted here."""
    return {
        "yield": (tally.first.total, tally.first.count, tally.final.count),
        "findings": {
            each.name: {
                "orders": each.orders,
                "open": each.open,
                "kept_back": each.kept_back,
            }
            for each in tally.findings
        },
        "reseats": {each.name: each.orders for each in tally.reseats},
        "minutes": {each.rule: each.minutes for each in tally.lost},
    }


@pytest.fixture(scope="module")
def counting(planted: Fleet) -> Counting:
    return Counting(planted)


@pytest.fixture(scope="module")
def summary(planted_export: Path) -> Summary:
    return sum_up(open_index(str(planted_export)), TERMS)


def test_all_orders_together_are_what_counting_them_gives(
    counting: Counting, summary: Summary
) -> None:
    whole = told(summary.whole)
    assert whole == counting.tally(lambda _: True)
    assert all(whole.values())


@pytest.mark.parametrize("name", COLUMNS)
def test_each_group_is_what_counting_its_orders_gives(
    counting: Counting, summary: Summary, name: str
) -> None:
    firsts = [attempts[min(attempts)] for attempts in counting.orders.values()]
    groups = sorted({row[COLUMNS[name]] for row in firsts})
    assert [each.name for each in summary.by[name]] == groups
    for each in summary.by[name]:
        assert told(each) == counting.tally(lambda row, own=each: row[COLUMNS[name]] == own.name)


@pytest.mark.parametrize(
    "only",
    [
        {"model": "Fen 14"},
        {"station": "station-05", "repair": "board"},
        {"repair": "keyboard"},
        {"week": "2025-W04"},
        {"repair": "keyboard+screen"},
    ],
)
def test_a_part_of_the_orders_is_told_as_if_there_were_no_other(
    counting: Counting, planted_export: Path, only: dict[str, str]
) -> None:
    def is_wanted(row: dict[str, Any]) -> bool:
        return all(
            wanted in (row["repairs"], *row["repairs"].split("+"))
            if name == "repair"
            else row[COLUMNS[name]] == wanted
            for name, wanted in only.items()
        )

    terms = Terms(days=30, stale_days=30, now=FAR, only=only)
    part = sum_up(open_index(str(planted_export)), terms)
    assert part.whole.first.total > 0
    assert told(part.whole) == counting.tally(is_wanted)
    wanted = [own for own in counting.orders.values() if is_wanted(own[min(own)])]
    assert part.attempts == sum(len(own) for own in wanted)
    assert part.units == len({row["unit"] for own in wanted for row in own.values()})


@pytest.mark.parametrize("name", ["model", "week"])
def test_the_returns_of_all_parts_are_those_of_the_whole(
    planted_export: Path, summary: Summary, name: str
) -> None:
    """The next order counts whatever it was for, and the last report is that of all."""
    shares = [
        sum_up(
            open_index(str(planted_export)),
            Terms(days=30, stale_days=30, now=FAR, only={name: value}),
        ).returns
        for value in names_of(open_index(str(planted_export)), name)
    ]
    whole = summary.returns
    assert whole.count > 0
    assert sum(each.count for each in shares) == whole.count
    assert sum(each.total for each in shares) == whole.total


def test_an_order_begun_before_the_first_month_is_not_taken_for_one_of_it(
    planted: Fleet, tmp_path: Path
) -> None:
    """What is left of it in the month would look like a first attempt."""
    report = planted.tables["report"]
    rows = report.to_pylist()
    late = [row["attempt"] > 1 and row["month"] == "2025-01" for row in rows]
    months = ["2025-02" if each else row["month"] for each, row in zip(late, rows, strict=True)]
    at = report.column_names.index("month")
    moved = report.set_column(at, "month", pa.array(months))
    fleet = Fleet(tables={**planted.tables, "report": moved})
    since = sum_up(
        open_index(str(fleet.write_parquet(tmp_path / "export"))).since("2025-02"), TERMS
    )
    counting = Counting(fleet)
    assert sum(late) > 50
    assert told(since.whole) == counting.tally(lambda row: row["month"] >= "2025-02")
    begun = [own for own in counting.orders.values() if own[min(own)]["month"] >= "2025-02"]
    assert since.attempts == sum(len(own) for own in begun)


def test_what_is_cumulated_ends_at_all(summary: Summary) -> None:
    shares = [so_far for _, so_far in cumulate(summary.whole.findings)]
    assert shares == sorted(shares)
    assert shares[-1] == 1
    assert cumulate(()) == ()


def test_names_are_those_of_the_orders(planted_export: Path) -> None:
    index = open_index(str(planted_export))
    assert {"keyboard", "screen", "keyboard+screen"} <= set(names_of(index, "repair"))
    assert "Fen 14" in names_of(index, "model")


def test_drafts_and_units_that_were_not_checked_are_counted_apart(
    planted: Fleet, summary: Summary
) -> None:
    reports = planted.tables["report"].to_pylist()
    kinds = Counter(row["kind"] for row in reports)
    assert (summary.drafts, sum(summary.unrun.values())) == (kinds["draft"], kinds["unrun"])
    assert summary.units == len({row["unit"] for row in reports if row["kind"] == "judged"})
    assert {stale.station for stale in summary.stale} == {"station-03"}


def test_other_months_stay_out(planted_export: Path, planted_file: Path) -> None:
    def since(place: Path) -> Summary:
        index: Index = open_index(str(place)).since("2025-02")
        return sum_up(index, Terms(days=30, stale_days=30, now=FAR))

    whole = sum_up(open_index(str(planted_export)), Terms(days=30, stale_days=30, now=FAR))
    assert since(planted_export) == since(planted_file)
    assert 0 < since(planted_export).units < whole.units
