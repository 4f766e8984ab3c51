"""`closeout answer`: a yes or no to a finding, as a new revision of the report."""

from __future__ import annotations

import argparse

from closeout.cli.revision import add_author_arguments, add_saying_arguments, write_revision
from closeout.cli.surroundings import Surroundings
from closeout.cli.trouble import DONE, ExitCode
from closeout.model.finding import Reply


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Adds the report, the finding, the reply and who gives it."""
    add_saying_arguments(parser)
    parser.add_argument(
        "reply",
        type=str.lower,
        choices=[reply.value for reply in Reply],
        help="the answer to the question of the finding",
    )
    add_author_arguments(parser)


def run(options: argparse.Namespace, surroundings: Surroundings) -> ExitCode:
    """Writes the revision."""
    write_revision(options, Reply(options.reply), surroundings)
    return DONE
