"""`closeout guide`: one check after the other at the terminal, as the stick runs it.

Ends with 0 when a person switches off.
"""

from __future__ import annotations

import argparse
import gc
import os
from enum import Enum
from pathlib import Path
from typing import Final

from closeout.cli import check
from closeout.cli.closing import REPORTS
from closeout.cli.dialogue import Dialogue
from closeout.cli.guide_keeping import Keeping, no_keeping
from closeout.cli.surroundings import Surroundings
from closeout.cli.trouble import DONE, ExitCode, InputTroubleError
from closeout.cli.unlocking import unlock_station
from closeout.cli.words import say_line
from closeout.expect.scan import Settled, settle, tidy
from closeout.model.report import Report
from closeout.report.store import attempt_folder, revision_id

VOLUME: Final = "CLOSEOUT_STICK_VOLUME"
REOPENED: Final = "Scan a repair that was opened again"
REOPENED_SKIPPED: Final = "Off the answer card, one by one; Enter = no more."
CHOICES: Final = "again = this unit after rework; next = a new check; off = switch off"
CHOICES_FIRST: Final = "next = a new check; off = switch off"
KEEP_TOO: Final = "keep = try the stick again"
PROMPT: Final = "What now? "
ONE_OF_THEM: Final = "one of these words is wanted, typed or scanned"
LOST: Final = (
    "what is in memory alone is lost when the unit is switched off: put the stick in and say keep,"
    " or say off once more"
)


class Choice(Enum):
    """What can be said after a check. NEXT and STOP are on the answer card too."""

    AGAIN = "AGAIN"
    NEXT = "NEXT"
    KEEP = "KEEP"
    OFF = "OFF"
    STOP = "STOP"


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Adds where orders, readings and reports are."""
    parser.add_argument("--root", metavar="DIR", type=Path, help="read a folder, not this machine")
    parser.add_argument("--orders", metavar="DIR", type=Path, help="folder of orders")
    parser.add_argument("--profile", metavar="FILE|ID", help="what the model must have")
    parser.add_argument(
        "--out", metavar="DIR", type=Path, help=f"folder for reports (else: ./{REPORTS})"
    )
    parser.add_argument(
        "--keep",
        action="store_true",
        help=f"put each report on the stick labelled CLOSEOUT (its volume id: ${VOLUME})",
    )


def run(options: argparse.Namespace, surroundings: Surroundings) -> ExitCode:
    """Checks until the person switches off."""
    if not (surroundings.stdin.isatty() and surroundings.stdout.isatty()):
        raise InputTroubleError("guide: nobody sits at a terminal; use closeout check instead")
    guide = _Guide(options, surroundings)
    guide.offer()
    said: tuple[str, ...] = ()
    while True:
        guide.check(*said)
        guide.offer()
        choice = guide.choose()
        gc.collect()  # a command makes no garbage worth looking for; one that runs all day does
        if choice is None:
            return ExitCode.INTERRUPTED
        if choice is Choice.OFF:
            return DONE
        said = guide.rework() if choice is Choice.AGAIN else ()


class _Guide:
    def __init__(self, options: argparse.Namespace, surroundings: Surroundings) -> None:
        self._options = options
        self._surroundings = surroundings
        self._out: Path = surroundings.folder / (options.out or REPORTS)
        self._keeping = (
            Keeping(self._out, os.environ.get(VOLUME, ""), surroundings)
            if options.keep
            else no_keeping
        )
        self._before: Path | None = None
        self._signer = unlock_station(surroundings)

    def offer(self) -> None:
        """Puts on the stick what is not there yet."""
        self._keeping()

    def check(self, *said: str) -> None:
        """One unit, asked, read, judged and written; what goes wrong is said in its lines."""
        parser = argparse.ArgumentParser()
        check.add_arguments(parser)
        try:
            options = parser.parse_args([*self._arguments(), *said])
            report, root = check.check_unit(options, self._surroundings, lambda _: self._signer)
        except InputTroubleError as trouble:
            for line in trouble.lines:
                say_line(line, self._surroundings.stdout)
        else:
            self._before = folder_of(report, root)

    def rework(self) -> tuple[str, ...]:
        """What the next check is told of the attempt before."""
        dialogue = Dialogue(self._surroundings)
        reopened = tuple(dict.fromkeys(dialogue.ask_repairs(REOPENED, REOPENED_SKIPPED)))
        again = ("--again", str(self._before))
        return (*again, "--reopened", *reopened) if reopened else again

    def choose(self) -> Choice | None:
        """What comes next; None where the input ended."""
        dialogue = Dialogue(self._surroundings)
        was_warned = False
        dialogue.tell("")
        while True:
            dialogue.tell(self._offered())
            typed = dialogue.line(PROMPT)
            if typed is None:
                return None
            choice = read_choice(typed)
            if choice in {Choice.OFF, Choice.STOP}:
                if was_warned or not self._keeping.pending():
                    return Choice.OFF
                was_warned = True
                dialogue.tell(LOST, lead="  ")
            elif choice is Choice.NEXT or (choice is Choice.AGAIN and self._before):
                return choice
            elif self._keeping.pending() and (choice is Choice.KEEP or not typed.strip()):
                self._keeping()
            else:
                dialogue.tell(ONE_OF_THEM, lead="  ")

    def _offered(self) -> str:
        told = CHOICES if self._before else CHOICES_FIRST
        return f"{told}; {KEEP_TOO}" if self._keeping.pending() else told

    def _arguments(self) -> list[str]:
        options = self._options
        told = ["--scan", "--out", str(self._out)]
        for name in ("root", "orders", "profile"):
            if (value := getattr(options, name)) is not None:
                told += [f"--{name}", str(value)]
        return told


def folder_of(report: Report, root: Path) -> Path:
    """Where a report was written."""
    facts = report.circumstances
    own = attempt_folder(root, facts.order, facts.attempt, facts.evidence_digest)
    return own.with_name(revision_id(facts.attempt, facts.evidence_digest, report.revision))


def read_choice(typed: str) -> Choice | None:
    """The word, in either case, typed or scanned in any way that `scan` undoes."""
    if not tidy(typed):
        return None
    found = settle(typed, lambda text: text.upper() in Choice.__members__)
    return Choice[found.text.upper()] if isinstance(found, Settled) else None
