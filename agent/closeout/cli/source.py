"""Where the readings come from: the live machine, a folder, or an evidence file."""

from __future__ import annotations

import argparse
import stat
import time
from pathlib import Path
from time import gmtime, strftime
from typing import TYPE_CHECKING, Final

from closeout import VERSION
from closeout.check import ROUNDS
from closeout.cli.files import read_file
from closeout.cli.progress import make_progress
from closeout.cli.reference import add_reference_arguments, read_references
from closeout.cli.surroundings import Surroundings
from closeout.cli.trouble import InputTroubleError
from closeout.kernel.evidence import Evidence, EvidenceError
from closeout.kernel.evidence_file import decode_evidence
from closeout.kernel.privacy import forbid_core_dumps
from closeout.model.moment import Moment, ReferenceTime

if TYPE_CHECKING:
    from closeout.kernel.capture import Look

UNPROVEN: Final = "clock of the machine that ran closeout, unproven"
LARGEST_EVIDENCE: Final = 64 << 20
LARGEST_SECRET: Final = 4096
SHORTEST_SECRET: Final = 16


def add_source_arguments(
    parser: argparse.ArgumentParser,
    *,
    evidence: bool = True,
    quiet: bool = True,
    is_many: bool = False,
) -> None:
    """Adds the choice of source; without any it is the live machine.

    With `is_many` several recordings can be named, and folders of them.
    """
    sources = parser.add_mutually_exclusive_group()
    sources.add_argument(
        "--root",
        metavar="DIR",
        type=Path,
        help="read a folder that holds sys/ proc/ dev/ run/udev/",
    )
    if is_many:
        sources.add_argument(
            "--evidence",
            metavar="PATH",
            type=Path,
            nargs="+",
            help="judge a recording again; several, or folders of them: a line each, the sum last",
        )
    elif evidence:
        sources.add_argument("--evidence", metavar="FILE", type=Path, help="list what it holds")
    parser.add_argument(
        "--depot-secret",
        metavar="FILE",
        type=Path,
        help="file whose content makes the tokens of licence keys (else: their last 5 characters)",
    )
    add_reference_arguments(parser)
    if quiet:
        parser.add_argument("--quiet", action="store_true", help="no progress, one line at the end")


def gather_evidence(
    options: argparse.Namespace, surroundings: Surroundings, look: Look | None = None
) -> Evidence:
    """The evidence of the chosen source; `look` is shown the answers while there are more to come.

    Raises InputTroubleError where the source cannot be used.
    """
    forbid_core_dumps()
    references = read_references(options, time.monotonic_ns)
    secret = read_secret(options.depot_secret)
    if getattr(options, "evidence", None):
        return load_evidence(options.evidence, secret)
    return _record(options, surroundings, secret, references, look)


def load_evidence(file: Path, secret: bytes | None = None) -> Evidence:
    """The evidence in a file; raises InputTroubleError where it is none."""
    forbid_core_dumps()
    try:
        return decode_evidence(read_file(file, LARGEST_EVIDENCE), name=str(file), secret=secret)
    except EvidenceError as error:
        raise InputTroubleError(str(error)) from error


def _record(
    options: argparse.Namespace,
    surroundings: Surroundings,
    secret: bytes | None,
    references: tuple[ReferenceTime, ...],
    look: Look | None,
) -> Evidence:
    """What the machine or the folder answers now; a recording is judged without these modules."""
    from closeout.kernel.capture import (  # noqa: PLC0415
        Conditions,
        look_away,
        record_folder,
        record_live,
    )
    from closeout.kernel.live import LiveTree  # noqa: PLC0415

    conditions = Conditions(
        agent=f"closeout {VERSION}",
        clock=time.monotonic_ns,
        moment=lambda: moment_now(surroundings),
        secret=secret,
        progress=make_progress(surroundings, quiet=getattr(options, "quiet", False)),
        references=references,
        look=look or look_away,
    )
    if options.root is None:
        return record_live(ROUNDS, conditions, LiveTree(str(surroundings.machine)))
    _require_folder(options.root)
    return record_folder(options.root, ROUNDS, conditions)


def _require_folder(root: Path) -> None:
    try:
        is_folder = stat.S_ISDIR(root.stat().st_mode)
        wrong = "no folder"
    except OSError as error:
        is_folder, wrong = False, f"cannot be read: {error.strerror}"
    if not is_folder:
        raise InputTroubleError(f"{root}: {wrong}; give a folder that holds sys/ or proc/")


def read_secret(file: Path | None) -> bytes | None:
    """What makes the tokens of licence keys; raises InputTroubleError where it is too short."""
    if file is None:
        return None
    secret = read_file(file, LARGEST_SECRET).strip()
    if len(secret) < SHORTEST_SECRET:
        raise InputTroubleError(
            f"{file}: shorter than {SHORTEST_SECRET} bytes; make a longer secret"
        )
    return secret


def moment_now(surroundings: Surroundings) -> Moment:
    """The time of day, and who says so."""
    text = strftime("%Y-%m-%dT%H:%M:%SZ", gmtime(surroundings.now()))
    return Moment(text=text, source=UNPROVEN)
