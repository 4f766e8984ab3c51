"""`closeout report pdf`: one PDF/A-3 for the ticket, with all in it that it is verified by."""

from __future__ import annotations

import argparse
from collections.abc import Mapping
from pathlib import Path
from typing import Final

from closeout.cli.documents import (
    AGENT,
    NO_PLACE,
    SETS_DOCUMENTS,
    UNRUN_FILE,
    add_record_argument,
    is_document,
    judge_now,
    keep_file,
    load_record,
    open_record,
    read_record,
    require_libraries,
    say_newer,
)
from closeout.cli.files import read_file
from closeout.cli.judged_again import add_profile_argument, refuse_bad_profile
from closeout.cli.recorded_attempt import REPORT_FILE
from closeout.cli.sealing import read_passphrase
from closeout.cli.surroundings import Surroundings
from closeout.cli.trouble import DONE, ExitCode, InputTroubleError
from closeout.cli.words import say_line
from closeout.kernel.privacy import forbid_core_dumps
from closeout.report.failure import CertificateError, DocumentError, ReportError
from closeout.report.seal import SEAL_FILE

DOCUMENT: Final = "report.pdf"
UNRUN_DOCUMENT: Final = "unrun.pdf"
SHOWABLE: Final = (REPORT_FILE, SEAL_FILE)
"""What a document of a redacted report may hold, whatever lies beside it."""
LARGEST_CERTIFICATE: Final = 1 << 20
NEEDED: Final = "signing a document needs the library pyhanko: install closeout[pades]"


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Adds the record, where to, and what signs it."""
    add_record_argument(parser)
    parser.add_argument(
        "-o", "--out", metavar="FILE", type=Path, help=f"where to (else: {DOCUMENT} beside it)"
    )
    add_profile_argument(parser)
    parser.add_argument(
        "--certificate", metavar="FILE", type=Path, help="sign it (PAdES) with this PKCS #12 file"
    )
    parser.add_argument(
        "--passphrase", metavar="FILE", type=Path, help="file with the pass phrase of that"
    )


def run(options: argparse.Namespace, surroundings: Surroundings) -> ExitCode:
    """Writes the document to a new file."""
    forbid_core_dumps()
    require_libraries(SETS_DOCUMENTS)
    if options.passphrase and not options.certificate:
        raise InputTroubleError("--passphrase opens a certificate: give --certificate too")
    refuse_bad_profile(options.profile)
    if is_document(options.report) and not options.out:
        raise InputTroubleError(f"{options.report}: {NO_PLACE}")
    with open_record(options.report) as record:
        files = read_record(record.folder)
        document = make_document(files, record.folder, options.profile)
        say_newer(record, files, surroundings)
    if options.certificate:
        document = _signed(document, options)
    name = UNRUN_DOCUMENT if UNRUN_FILE in files else DOCUMENT
    file = surroundings.folder / options.out if options.out else record.folder / name
    keep_file(file, document, "document")
    say_line(f"Document: {file}", surroundings.stdout)
    return DONE


def make_document(files: Mapping[str, bytes], folder: Path, profile: str | None = None) -> bytes:
    """The document of a record with the files beside it. Raises InputTroubleError."""
    from closeout.report.colophon import Colophon  # noqa: PLC0415 - only for documents
    from closeout.report.document import render_document  # noqa: PLC0415 - as above
    from closeout.report.typesetting import typesetter  # noqa: PLC0415 - as above

    judged = None
    if REPORT_FILE in files:
        report = load_record(folder, files[REPORT_FILE])
        if report.redacted:
            files = {name: files[name] for name in SHOWABLE if name in files}
        judged = judge_now(report, folder, profile)
    colophon = Colophon(agent=AGENT, typesetter=typesetter(), judged=judged)
    try:
        return render_document(files, colophon)
    except ReportError as error:
        raise InputTroubleError(f"{folder / UNRUN_FILE}: no record: {error}") from error
    except DocumentError as error:
        raise InputTroubleError(f"{folder}: no document of it: {error}") from error


def _signed(document: bytes, options: argparse.Namespace) -> bytes:
    passphrase = read_passphrase(options.passphrase)
    try:
        from closeout.report.pades import sign_document  # noqa: PLC0415 - with a certificate alone
    except ImportError as error:
        raise InputTroubleError(NEEDED) from error
    try:
        return sign_document(
            document, read_file(options.certificate, LARGEST_CERTIFICATE), passphrase
        )
    except CertificateError as error:
        raise InputTroubleError(f"{options.certificate}: {error}") from error
