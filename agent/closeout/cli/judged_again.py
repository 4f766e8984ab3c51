"""A report judged anew from the evidence beside it: what this version says, against what it said.

What people answered and conceded is taken over where demand and finding are still the same.
"""

from __future__ import annotations

import argparse
from collections.abc import Iterator
from pathlib import Path
from typing import Final

from closeout import VERSION
from closeout.check import judge_evidence, read_out
from closeout.cli.recorded_attempt import is_order_of, order_beside
from closeout.cli.source import load_evidence
from closeout.cli.terms import load_demands
from closeout.cli.trouble import InputTroubleError
from closeout.expect.load import Mistakes, load_profile
from closeout.expect.scanned_order import SCANNED, mark_scanned
from closeout.judge.keep import Proofs
from closeout.model.finding import Finding
from closeout.model.frozen import replace
from closeout.model.report import Report
from closeout.report.story import name_of

MOST_NAMED: Final = 5
NOT_HERE: Final = "its profile {name} does not ship; give its file with --profile"
Place = tuple[str, str]


def add_profile_argument(parser: argparse.ArgumentParser) -> None:
    """Adds what it is judged by now."""
    parser.add_argument(
        "--profile",
        metavar="FILE|ID",
        help="what it is judged by now (else: what ships under the name of its profile)",
    )


def refuse_bad_profile(named: str | None) -> None:
    """Raises InputTroubleError with every mistake of the profile, before anything is said by it."""
    loaded = load_profile(named) if named else None
    if isinstance(loaded, Mistakes):
        raise InputTroubleError(*(mistake.show() for mistake in loaded.found))


def judge_again(report: Report, evidence_file: Path, profile: str | None = None) -> Report:
    """The report that the same evidence gives now, by the profile of the same name or another.

    Raises InputTroubleError. A depot's own profile need not be here, and what another demands is no
    other judgement of the same.
    """
    facts = report.circumstances
    order = order_beside(evidence_file.parent)
    if facts.order and order is None:
        raise InputTroubleError(f"the order {facts.order} is not beside it")
    if order and not is_order_of(order, report):
        raise InputTroubleError(f"what lies beside it is not the order {facts.order} that it names")
    evidence = load_evidence(evidence_file)
    named = profile or facts.profile.name
    if not profile and isinstance(load_profile(named), Mistakes):
        raise InputTroubleError(NOT_HERE.format(name=named))
    demands = load_demands(named, order, facts.repairs)
    if demands.work_order and facts.work_order and facts.work_order.revision == SCANNED:
        demands = replace(demands, work_order=mark_scanned(demands.work_order))
    proofs = Proofs(
        findings=report.findings,
        attempt=facts.attempt,
        at=facts.finished,
        disturbs=lambda _: False,
    )
    demands = replace(
        demands,
        handling=facts.handling,
        earlier=report.earlier,
        reopened=facts.reopened,
        is_draft=facts.is_draft,
        kept=proofs,
    )
    readout = read_out(evidence)
    return judge_evidence(evidence, readout, demands.terms(readout.inventory, facts.attempt))


def say_difference(then: Report, now: Report) -> Iterator[str]:
    """What was judged then and now, in sentences; a difference is no sign of tampering."""
    if is_same(then, now):
        yield f"Judged again by closeout {VERSION}: {now.verdict.value}, the same findings."
        return
    yield (
        f"Judged by {then.circumstances.agent}: {then.verdict.value};"
        f" now by closeout {VERSION}: {now.verdict.value}."
    )
    before, after = _by_place(then), _by_place(now)
    for title, places, source in (
        ("Demanded now and not then", after.keys() - before.keys(), now),
        ("Demanded then and not now", before.keys() - after.keys(), then),
        ("Found otherwise", _changed(before, after), now),
    ):
        if places:
            yield f"{title}: {_names(places, source)}."
    for what, old, new in _sources(then, now):
        yield f"{what} then {old}, now {new}."


def is_same(then: Report, now: Report) -> bool:
    """Whether both say the same of the same demands."""
    return _essence(then) == _essence(now)


def _essence(report: Report) -> tuple[object, ...]:
    return report.verdict, sorted(map(_told, report.findings))


def _told(finding: Finding) -> tuple[str, ...]:
    return (*_place(finding), finding.outcome.value, finding.expected, finding.found)


def _place(finding: Finding) -> Place:
    return finding.rule, finding.subject


def _by_place(report: Report) -> dict[Place, list[tuple[str, ...]]]:
    places: dict[Place, list[tuple[str, ...]]] = {}
    for finding in report.findings:
        places.setdefault(_place(finding), []).append(_told(finding))
    return places


def _changed(
    before: dict[Place, list[tuple[str, ...]]], after: dict[Place, list[tuple[str, ...]]]
) -> set[Place]:
    both = before.keys() & after.keys()
    return {place for place in both if sorted(before[place]) != sorted(after[place])}


def _names(places: set[Place], report: Report) -> str:
    titles = dict.fromkeys(
        name_of(report, finding) for finding in report.findings if _place(finding) in places
    )
    named = list(titles)[:MOST_NAMED]
    more = f" and {len(titles) - len(named)} more" if len(titles) > len(named) else ""
    return f"{', '.join(named)}{more}"


def _sources(then: Report, now: Report) -> Iterator[tuple[str, str, str]]:
    old, new = then.circumstances, now.circumstances
    for what, before, after in (
        ("Rules", old.rules, new.rules),
        ("Profile", old.profile, new.profile),
    ):
        if before != after:
            yield what, f"{before.name} {before.revision}", f"{after.name} {after.revision}"
