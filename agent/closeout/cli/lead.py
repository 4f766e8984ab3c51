"""The depot's lead: whose signature over the profiles counts, and what was signed."""

from __future__ import annotations

import argparse
import os
from collections.abc import Iterable
from pathlib import Path
from typing import Final

from closeout.cli.files import is_file, read_file
from closeout.cli.sealing import NEEDED
from closeout.cli.station_records import load_station
from closeout.cli.trouble import InputTroubleError
from closeout.expect.set_statement import SetStatement, SignedSets, parse_statement
from closeout.expect.shipped import shipped_folder
from closeout.model.station import Standing, Station, standing_on

LEAD: Final = "CLOSEOUT_LEAD"
STATEMENT_FILE: Final = "set.jws"
SUFFIX: Final = ".jws"
LARGEST_STATEMENT: Final = 1 << 20


def add_lead_argument(parser: argparse.ArgumentParser) -> None:
    """Adds whose signature over the profiles counts."""
    parser.add_argument(
        "--lead",
        metavar="FILE",
        type=Path,
        help=f"public record of who signs the profiles, signed sets beside it (else: ${LEAD})",
    )


def find_lead(options: argparse.Namespace) -> Path | None:
    """The file of the lead's record; None where no lead is named."""
    told = options.lead or os.environ.get(LEAD)
    return Path(told) if told else None


def signed_sets(options: argparse.Namespace) -> SignedSets | None:
    """The sets that the lead signed, as far as they are known here; None where no lead is.

    They lie beside the lead's record, and with the profiles: those that ship, and the file that is
    named, whose set lies in its folder or in the one above. Raises InputTroubleError where the
    record or one of them cannot be read.
    """
    record = find_lead(options)
    if record is None:
        return None
    lead = load_station(record)
    files = sorted(path for path in record.parent.iterdir() if path.suffix == SUFFIX)
    named = getattr(options, "profile", None)
    folders = [shipped_folder("profiles"), *(Path(named).resolve().parents[:2] if named else ())]
    with_profiles = (folder / STATEMENT_FILE for folder in folders)
    files += [file for file in with_profiles if file not in files and is_file(file)]
    return _open_all(files, lead)


def _open_all(files: Iterable[Path], lead: Station) -> SignedSets:
    statements: list[SetStatement] = []
    reason = SignedSets().reason
    for file in files:
        opened = _open(file, lead)
        if isinstance(opened, SetStatement):
            statements.append(opened)
        else:
            reason = opened
    return SignedSets(lead=lead.code, statements=tuple(statements), reason=reason)


def _open(file: Path, lead: Station) -> SetStatement | str:
    """What was signed; in words why it does not count."""
    try:
        from closeout.report.seal import State, open_statement  # noqa: PLC0415 - only with a lead

        raw, seal = open_statement(read_file(file, LARGEST_STATEMENT), (lead,))
    except ImportError as error:
        raise InputTroubleError(NEEDED) from error
    statement = parse_statement(raw)
    if seal.state is State.UNKNOWN:
        return f"{file.name} was not signed by {lead.code}"
    if seal.state is not State.INTACT or statement is None:
        return f"{file.name} is not what a lead signed"
    standing = standing_on(lead, statement.on)
    if standing is not Standing.VALID:
        return f"the key of {lead.code} is {_WORDS[standing]}, and {file.name} of {statement.on}"
    return statement


_WORDS: Final = {
    Standing.TOO_EARLY: "not valid so early",
    Standing.TOO_LATE: "not valid so late",
    Standing.REVOKED: "revoked",
    Standing.REVOKED_SINCE: "revoked since",
}
