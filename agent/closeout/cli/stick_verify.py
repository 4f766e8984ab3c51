"""`closeout media verify`: whether a stick is what its manifest says, file by file.

Ends with 2 where something is not. The stick is read and never written.
"""

from __future__ import annotations

import argparse
from pathlib import Path

from closeout.cli.surroundings import Surroundings
from closeout.cli.trouble import DONE, ExitCode, InputTroubleError
from closeout.cli.words import say_line
from closeout.media.trouble import MediaError


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Adds the stick and its manifest."""
    parser.add_argument(
        "target", metavar="IMAGE|DEVICE|FOLDER", type=Path, help="is read and never written"
    )
    parser.add_argument(
        "--manifest", metavar="FILE", type=Path, help="else: beside the image, or on the stick"
    )


def run(options: argparse.Namespace, surroundings: Surroundings) -> ExitCode:
    """Says a line for each file; what is not as the manifest says is bad input."""
    try:
        return _verify(options, surroundings)
    except MediaError as error:
        raise InputTroubleError(*error.lines) from error


def _verify(options: argparse.Namespace, surroundings: Surroundings) -> ExitCode:
    from closeout.media.verify import verify  # noqa: PLC0415 - help needs none of it

    wrong: list[str] = []
    for remark in verify(surroundings.folder / options.target, options.manifest):
        line = f"{remark.subject}: {remark.told}"
        if remark.is_wrong:
            wrong.append(line)
        else:
            say_line(line, surroundings.stdout)
    if wrong:
        raise InputTroubleError(*wrong)
    return DONE
