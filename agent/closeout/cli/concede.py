"""`closeout concede`: a lead accepts a must that failed, as a new revision of the report."""

from __future__ import annotations

import argparse

from closeout.cli.revision import add_author_arguments, add_saying_arguments, write_revision
from closeout.cli.surroundings import Surroundings
from closeout.cli.trouble import DONE, ExitCode


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Adds the report, the finding and who concedes it."""
    add_saying_arguments(parser)
    add_author_arguments(parser)


def run(options: argparse.Namespace, surroundings: Surroundings) -> ExitCode:
    """Writes the revision."""
    write_revision(options, None, surroundings)
    return DONE
