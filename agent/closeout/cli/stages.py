"""What a person at a terminal is told while the unit is read: budget, first words, figures."""

from __future__ import annotations

import time
from contextlib import suppress
from typing import Final

from closeout.cli.budget import budget_of, show_seconds, tell_budget
from closeout.cli.first_words import read_identity, tell_identity, tell_presence
from closeout.cli.plain import Plain, terminal_width
from closeout.cli.surroundings import Surroundings
from closeout.cli.terms import Demands, map_for
from closeout.expect.load import Profile, expectations_of
from closeout.kernel.recorded import RecordedTree
from closeout.model.expectation import Expectation
from closeout.model.report import Report
from closeout.report.console import Desk

IDENTITY_READ: Final = 1
LISTED: Final = 2
"""Rounds of reading that are done when there is something to say."""


class Stages:
    """Says each thing once, as early as it is known."""

    def __init__(self, demands: Demands, surroundings: Surroundings, *, redacted: bool) -> None:
        self._demands = demands
        self._stream = surroundings.stdout
        self._desk = Desk(Plain(self._stream, terminal_width()))
        self._redacted = redacted
        self._map = map_for(demands.repairs)
        self._began = time.monotonic()
        self._read = self._began

    def say_budget(self) -> None:
        """How long it may take, before it starts."""
        named = self._demands.named_profile
        budget = budget_of(self._demanded(named), self._map) if named else None
        self._say(tell_budget(budget))

    def look(self, done: int, tree: RecordedTree) -> None:
        """First words between the rounds; a terminal that is gone must not cost the readings."""
        self._read = time.monotonic()
        if done not in {IDENTITY_READ, LISTED}:
            return
        inventory = read_identity(tree)
        with suppress(OSError):
            if done == IDENTITY_READ:
                self._say(tell_identity(inventory, redacted=self._redacted))
            else:
                demanded = self._demanded(self._demands.profile_for(inventory))
                self._say(tell_presence(tree, demanded))

    def say_figures(self, report: Report) -> None:
        """How long it took."""
        attempt = report.circumstances.attempt
        answered = sum(
            finding.answer is not None and finding.answer.attempt == attempt
            for finding in report.findings
        )
        reading = show_seconds(round(self._read - self._began))
        rest = show_seconds(round(time.monotonic() - self._read))
        self._say(f"Took: reading {reading}, then {rest}; {answered} answered")

    def _demanded(self, profile: Profile) -> tuple[Expectation, ...]:
        demands = self._demands
        return expectations_of(profile, demands.work_order, self._map, demands.repairs)

    def _say(self, text: str) -> None:
        """At once: whoever forks next must find nothing left to be written."""
        self._desk.line(text)
        self._stream.flush()
