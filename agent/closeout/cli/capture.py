"""`closeout capture`: record every reading to one evidence file."""

from __future__ import annotations

import argparse
from pathlib import Path

from closeout.cli.source import add_source_arguments, gather_evidence
from closeout.cli.surroundings import Surroundings
from closeout.cli.trouble import DONE, ExitCode, InputTroubleError
from closeout.cli.words import say_line
from closeout.kernel.evidence import EvidenceError
from closeout.kernel.evidence_file import digest_evidence, encode_evidence
from closeout.report.failure import StoreError
from closeout.report.store import write_file

DIGEST_CHARACTERS = 12


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Adds the source and the file."""
    add_source_arguments(parser, evidence=False)
    parser.add_argument(
        "-o",
        dest="output",
        metavar="FILE",
        type=Path,
        help="file to write, never overwritten (else: evidence-DIGEST.jsonl.gz here)",
    )


def run(options: argparse.Namespace, surroundings: Surroundings) -> ExitCode:
    """Records, and says where to."""
    evidence = gather_evidence(options, surroundings)
    digest = digest_evidence(evidence).rsplit(":", 1)[-1]
    name = options.output or Path(f"evidence-{digest[:DIGEST_CHARACTERS]}.jsonl.gz")
    file = surroundings.folder / name
    try:
        write_file(file, encode_evidence(evidence))
    except (EvidenceError, StoreError) as error:
        raise InputTroubleError(f"the evidence was not written: {error}") from error
    count = len(evidence.records)
    if not options.quiet:
        say_line(f"{count} readings in {file} (sha256 {digest})", surroundings.stdout)
    return DONE
