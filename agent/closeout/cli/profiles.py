"""`closeout profile`: look after the files that say what a model must have."""

from __future__ import annotations

import argparse
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import TYPE_CHECKING, Final

from closeout.cli.sealing import add_sealing_arguments
from closeout.cli.surroundings import Surroundings
from closeout.cli.trouble import DONE, ExitCode, InputTroubleError
from closeout.cli.words import say_line
from closeout.expect.load import Mistakes, Profile, lint_files, load_profile

if TYPE_CHECKING:
    from closeout.model.report import Report

PROFILE: Final = "FILE|ID"
WHICH: Final = "a profile's file, or the id of a shipped one"


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Adds the actions."""
    actions = parser.add_subparsers(dest="action", required=True, metavar="ACTION")
    lint = actions.add_parser(
        "lint", help="every mistake in profiles and work orders, with its place"
    )
    lint.add_argument("files", nargs="+", metavar="FILE", type=Path)
    explain = actions.add_parser(
        "explain", help="what a profile demands in plain sentences, and which file says so"
    )
    explain.add_argument("profile", metavar=PROFILE, help=WHICH)
    test = actions.add_parser("test", help="what a profile says about known units")
    test.add_argument("profile", metavar=PROFILE, help=WHICH)
    test.add_argument(
        "evidence", nargs="+", metavar="EVIDENCE", type=Path, help="recordings of known units"
    )
    diff = actions.add_parser("diff", help="what one profile demands and another does not")
    diff.add_argument("old", metavar=PROFILE, help=WHICH)
    diff.add_argument("new", metavar=PROFILE, help="the one to hold against it")
    draft = actions.add_parser("draft", help="write a profile out of a known good unit")
    draft.add_argument("evidence", metavar="EVIDENCE", type=Path, help="recording of the unit")
    sign = actions.add_parser("sign", help="sign all profiles as the depot's lead")
    sign.add_argument(
        "folder", nargs="?", metavar="DIR", type=Path, help="the depot's own (else: the shipped)"
    )
    sign.add_argument("--version", metavar="TEXT", help="of the set (else: that of its set.toml)")
    add_sealing_arguments(sign)
    draft.add_argument("--id", metavar="ID", help="its id (else: maker and product of the unit)")


def run(options: argparse.Namespace, surroundings: Surroundings) -> ExitCode:
    """Calls the action."""
    return ACTIONS[options.action](options, surroundings)


def run_lint(options: argparse.Namespace, surroundings: Surroundings) -> ExitCode:
    """Names every mistake of every file."""
    mistakes = lint_files(options.files)
    if mistakes is not None:
        for mistake in mistakes.found:
            say_line(mistake.show(), surroundings.stdout)
        return ExitCode.BAD_INPUT
    count = len(options.files)
    surroundings.stdout.write(f"no mistakes in {count} file{'s' if count > 1 else ''}\n")
    return DONE


def run_explain(options: argparse.Namespace, surroundings: Surroundings) -> ExitCode:
    """Says the whole profile."""
    from closeout.cli.profile_words import explain  # noqa: PLC0415 - only this action needs it

    for line in explain(_load(options.profile)):
        say_line(line, surroundings.stdout)
    return DONE


def run_diff(options: argparse.Namespace, surroundings: Surroundings) -> ExitCode:
    """Says what differs; a line where nothing does."""
    from closeout.cli.profile_words import differences  # noqa: PLC0415 - only this action needs it

    lines = list(differences(_load(options.old), _load(options.new)))
    for line in lines or ["the same is demanded"]:
        say_line(line, surroundings.stdout)
    return DONE


def run_test(options: argparse.Namespace, surroundings: Surroundings) -> ExitCode:
    """Judges every unit; the verdicts are for the reader, and change nothing of the ending."""
    from closeout.cli.known_units import (  # noqa: PLC0415 - lint needs no readers
        count_failures,
        describe_unit,
        judge_known,
    )
    from closeout.cli.source import load_evidence  # noqa: PLC0415 - as above

    profile = _load(options.profile, with_ancestors=False)
    reports: list[Report] = []
    for file in options.evidence:
        report = judge_known(load_evidence(file), profile)
        reports.append(report)
        for line in describe_unit(str(file), report):
            say_line(line, surroundings.stdout)
    say_line("", surroundings.stdout)
    for line in count_failures(reports):
        say_line(line, surroundings.stdout)
    return DONE


def run_draft(options: argparse.Namespace, surroundings: Surroundings) -> ExitCode:
    """Writes the file to the output, for a person to go through."""
    from closeout.cli.known_units import draft  # noqa: PLC0415 - lint needs no readers
    from closeout.cli.source import load_evidence  # noqa: PLC0415 - as above

    text = draft(load_evidence(options.evidence), options.id)
    for line in text.splitlines():
        say_line(line, surroundings.stdout)
    return DONE


def run_sign(options: argparse.Namespace, surroundings: Surroundings) -> ExitCode:
    """Signs every profile that a unit will find."""
    from closeout.cli.profile_sign import run  # noqa: PLC0415 - only leads do

    return run(options, surroundings)


def _load(wanted: str, *, with_ancestors: bool = True) -> Profile:
    loaded = load_profile(wanted, with_ancestors=with_ancestors)
    if isinstance(loaded, Mistakes):
        raise InputTroubleError(*(mistake.show() for mistake in loaded.found))
    return loaded


ACTIONS: Final[Mapping[str, Callable[[argparse.Namespace, Surroundings], ExitCode]]] = {
    "lint": run_lint,
    "explain": run_explain,
    "test": run_test,
    "diff": run_diff,
    "draft": run_draft,
    "sign": run_sign,
}
