"""The evidence of a run judged once more outside: as it was, otherwise, or with a rule less."""

import tempfile
from collections.abc import Iterator, Mapping, Sequence
from functools import lru_cache
from pathlib import Path
from typing import Any, Final, NamedTuple

from closeout.check import Readout, judge_evidence, read_out
from closeout.cli.terms import Demands, load_demands
from closeout.expect.merge import expectations_of
from closeout.expect.parts import parts_of
from closeout.judge.built_in import place_built_in
from closeout.judge.demands import judge_inventory
from closeout.judge.kernel_log import sort_messages
from closeout.judge.saying import say
from closeout.kernel.evidence import Evidence
from closeout.kernel.evidence_file import decode_evidence
from closeout.model.catalogue import Catalogue
from closeout.model.expectation import Expectation
from closeout.model.finding import Answer, Finding, Reply
from closeout.model.frozen import replace
from closeout.model.inventory import Inventory
from closeout.model.part_demand import PartDemand
from closeout.model.report import Report
from notebook.matrix.fault import Told
from notebook.matrix.running import PASSED, Run

ANY: Final = "any-notebook"
ASKED: Final = "connection."
"""What a repair disturbed, which a person looks at."""
PERSON: Final = Answer(reply=Reply.YES, by="the bench", reason="looked at the bench")


@lru_cache(maxsize=1)
def read(evidence: bytes) -> tuple[Evidence, Readout]:
    """The evidence and every device that it shows."""
    decoded = decode_evidence(evidence)
    return decoded, read_out(decoded)


@lru_cache(maxsize=16)
def demands_of_files(profile: bytes | str, order: bytes | None) -> Demands:
    """Demands as the command loads them; a profile is a file's content, or an id."""
    with tempfile.TemporaryDirectory() as folder:
        named = profile
        if isinstance(named, bytes):
            (Path(folder) / "profile.toml").write_bytes(named)
            named = str(Path(folder) / "profile.toml")
        if order is not None:
            (Path(folder) / "order.toml").write_bytes(order)
        return load_demands(named, Path(folder) / "order.toml" if order is not None else None)


def report_again(run: Run, profile: bytes | str, order: bytes | None) -> Report:
    """The report of the run's evidence by a profile and an order, on this machine."""
    evidence, readout = read(run.evidence)
    terms = demands_of_files(profile, order).terms(readout.inventory, 1)
    return judge_evidence(evidence, readout, terms)


def replays(run: Run) -> bool:
    """The evidence outside leads to the very findings that it led to inside."""
    again = report_again(run, run.profile, run.order)
    inside = [_told(found) for found in run.report["findings"]]
    return inside == [told_of(found) for found in again.findings]


def answered(report: Report) -> Report:
    """The report with a person's yes to everything that a repair disturbed."""
    for number, finding in enumerate(report.findings, start=1):
        if finding.rule.startswith(ASKED):
            report = say(report, number, PERSON)
    return report


def judge_without(run: Run, rule: str) -> tuple[Told, ...]:
    """The findings that are no pass, where nobody demands what this rule demands."""
    bench = _bench(run.evidence, run.profile, run.order)
    expectations = [one for one in bench.expectations if one.rule != rule]
    found = judge_inventory(bench.inventory, expectations, bench.catalogue, bench.parts)
    return tuple(_not_passed(found, rule))


class Bench(NamedTuple):
    """What a run is judged by and out of, whichever rule is left out."""

    inventory: Inventory
    expectations: Sequence[Expectation]
    catalogue: Catalogue
    parts: Sequence[PartDemand]


@lru_cache(maxsize=1)
def _bench(evidence: bytes, profile: bytes, order: bytes) -> Bench:
    _, readout = read(evidence)
    terms = demands_of_files(profile, order).terms(readout.inventory, 1)
    placed = place_built_in(readout.inventory, terms.profile.built_in)
    rules = replace(terms.log_rules, harmless=terms.log_rules.harmless + terms.profile.harmless)
    demanded = (terms.profile, terms.work_order, terms.repair_map, terms.repairs)
    return Bench(
        inventory=sort_messages(placed, rules),
        expectations=expectations_of(*demanded),
        catalogue=terms.catalogue,
        parts=parts_of(terms.profile, terms.work_order),
    )


def _not_passed(findings: tuple[Finding, ...], rule: str) -> Iterator[Told]:
    """Of a part, which is told by all that is wanted of it, the finding is left out instead."""
    for finding in findings:
        if finding.outcome.value != PASSED and finding.rule != rule:
            yield told_of(finding)


def told_of(finding: Finding) -> Told:
    """A finding as a fault file has it."""
    return Told(
        rule=finding.rule,
        subject=finding.subject,
        outcome=finding.outcome.value,
        expected=finding.expected,
        found=finding.found,
    )


def _told(found: Mapping[str, Any]) -> Told:
    names = ("rule", "subject", "outcome", "expected", "found")
    return Told(**{name: found[name] for name in names})
