"""The questions of `closeout depot collisions` about stations, profiles and parts: counts alone.

One first attempt of each order is counted, so that a unit that was checked ten times is one.
"""

from __future__ import annotations

from closeout.depot.questions.engine import Expression
from closeout.depot.questions.opening import Index
from closeout.depot.questions.orders import OF_INTEREST, has_failed, shows
from closeout.depot.questions.summing import followed, is_back


def within(ends: Expression, weeks: tuple[str, str]) -> Expression:
    """The orders whose first attempt was in these weeks, both counted in, at a known station."""
    first, last = weeks
    return ends.filter((ends.week >= first) & (ends.week <= last) & (ends.station != ""))


def work_of_stations(window: Expression) -> Expression:
    """How many orders of each model and repair each station began."""
    return window.group_by("station", "model", "repairs").aggregate(orders=window.count())


def findings_of_stations(index: Index, window: Expression) -> Expression:
    """The same by rule: orders in whose first attempt the rule stood against the unit."""
    rows = _first_findings(index.finding.filter(shows(index.finding)), window)
    return rows.group_by("station", "model", "repairs", "rule").aggregate(orders=rows.count())


def units_of_profiles(ends: Expression, until: int) -> Expression:
    """How many orders were judged by each profile, and when last; what is later has no time."""
    known = (ends.first_started <= until).ifelse(ends.first_started, 0)
    return ends.group_by("model", "profile_digest").aggregate(orders=ends.count(), last=known.max())


def failures_of_profiles(index: Index, ends: Expression) -> Expression:
    """In how many orders each rule failed, and at how many stations that are known."""
    rows = _first_findings(_failed(index.finding), ends)
    return rows.group_by("model", "profile_digest", "rule").aggregate(
        orders=rows.count(), stations=rows.station.nunique(where=rows.station != "")
    )


def found_by_profiles(index: Index, ends: Expression, rules: list[str]) -> Expression:
    """What was found where these rules failed, and how often."""
    finding = _failed(index.finding)
    told = finding.filter(finding.rule.isin(rules))
    first = ends.select("first_id", "model", "profile_digest")
    rows = told.inner_join(first, told.report_id == first.first_id)
    return rows.group_by("model", "profile_digest", "rule", "expected", "found").aggregate(
        orders=rows.report_id.nunique()
    )


def fitted(index: Index, ends: Expression) -> Expression:
    """Each order with each part number that it fitted, once; to be kept."""
    part = index.part.filter(index.part.is_fitted & (index.part.part_number != ""))
    first = ends.select("first_id", "job", "model")
    rows = part.inner_join(first, part.report_id == first.first_id)
    return rows.select("job", "model", "first_id", "kind", "part_number").distinct()


def early_failures(index: Index, ends: Expression, parts: Expression, days: int) -> Expression:
    """Of the orders that fitted each part number: how many failed on it, at once or coming back.

    At once: in the first attempt. Coming back: the next order of the unit within so many days
    fails on the same class in its own first attempt.
    """
    finding = _failed(index.finding)
    after = followed(ends)
    after = after.filter(is_back(after, days)).select(earlier_job="job", next_job="next_job")
    later = ends.select("job", later_id="first_id")
    after = after.inner_join(later, after.next_job == later.job).select("earlier_job", "later_id")
    own = parts.mutate(seen_id=parts.first_id)
    back = parts.inner_join(after, parts.job == after.earlier_job)
    columns = ("job", "kind", "part_number", "seen_id")
    seen = own.select(columns).union(back.mutate(seen_id=back.later_id).select(columns))
    failed = finding.select("report_id", "rule").distinct()
    bad = seen.inner_join(failed, seen.seen_id == failed.report_id)
    bad = bad.filter(bad.rule.startswith(bad.kind + "."))
    bad = bad.select("job", "kind", "part_number").distinct().mutate(failed=1)
    rows = parts.left_join(bad, ["job", "kind", "part_number"])
    return rows.group_by("model", "kind", "part_number").aggregate(
        orders=rows.count(), failed=rows.failed.fill_null(0).sum()
    )


def _first_findings(finding: Expression, ends: Expression) -> Expression:
    """Each rule once for each order, with what the order is."""
    once = finding.select("report_id", "rule").distinct()
    first = ends.select("first_id", "station", "model", "repairs", "profile_digest")
    return once.inner_join(first, once.report_id == first.first_id)


def _failed(finding: Expression) -> Expression:
    return finding.filter(finding.weight.isin(OF_INTEREST) & has_failed(finding))
