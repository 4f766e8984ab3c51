"""Whole runs for tests: a tree recorded, read out and judged under the shipped demands."""

from pathlib import Path

from closeout.check import ROUNDS, judge_evidence, read_out
from closeout.cli.terms import load_demands
from closeout.kernel.capture import Conditions, record_tree
from closeout.kernel.evidence import Evidence
from closeout.kernel.tree import KernelTree
from closeout.model.moment import Moment
from closeout.model.report import Report
from strategies.notebook_time import REFERENCE

MOMENT = Moment(text="2026-11-20T09:00:00Z", source="a test")


def conditions(secret: bytes | None = None) -> Conditions:
    """A clock that stands still, so that the same tree gives the same bytes."""
    return Conditions(
        agent="test",
        clock=lambda: 0,
        moment=lambda: MOMENT,
        secret=secret,
        references=(REFERENCE,),
    )


def record(tree: KernelTree, secret: bytes | None = None) -> Evidence:
    """Everything that a check asks of the tree."""
    return record_tree(tree, ROUNDS, conditions(secret))


def judge(evidence: Evidence, profile: str | None = None, work_order: Path | None = None) -> Report:
    """The report under a profile and order, or under what the unit itself chooses."""
    readout = read_out(evidence)
    demands = load_demands(profile, work_order)
    return judge_evidence(evidence, readout, demands.terms(readout.inventory, 1))
