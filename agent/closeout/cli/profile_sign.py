"""`closeout profile sign`: the lead's signature over all profiles, those that ship among them."""

from __future__ import annotations

import argparse
from hashlib import sha256
from pathlib import Path
from time import gmtime, strftime

from closeout.cli.lead import STATEMENT_FILE
from closeout.cli.sealing import find_signer
from closeout.cli.surroundings import Surroundings
from closeout.cli.trouble import DONE, ExitCode, InputTroubleError
from closeout.cli.typed_text import read_reason
from closeout.cli.words import say_line
from closeout.expect.load import SET_FILE, lint_files, profile_files, read_set
from closeout.expect.set_statement import SetStatement, write_statement
from closeout.expect.shipped import ShippedFileError, shipped_folder
from closeout.model.station import Standing, standing_on
from closeout.report.failure import StoreError
from closeout.report.seal import sign_statement
from closeout.report.store import replace_file


def run(options: argparse.Namespace, surroundings: Surroundings) -> ExitCode:
    """Signs what a unit will find: the shipped profiles, and over them those of the folder."""
    signer = find_signer(options)
    if signer is None:
        raise InputTroubleError("who signs? give --station-key DIR, the folder of the lead's key")
    shipped = shipped_folder("profiles")
    folder: Path = options.folder or shipped
    version = _version(folder, options.version)
    files = _files_of(shipped) | _files_of(folder)
    mistakes = lint_files(list(files.values()))
    if mistakes is not None:
        raise InputTroubleError(*(mistake.show() for mistake in mistakes.found))
    day = strftime("%Y-%m-%d", gmtime(surroundings.now()))
    if standing_on(signer.station, day) is not Standing.VALID:
        raise InputTroubleError(f"the key of {signer.station.code} is not valid on {day}")
    digests = {name: sha256(path.read_bytes()).hexdigest() for name, path in files.items()}
    statement = SetStatement(version=version, on=day, files=digests)
    place = folder / STATEMENT_FILE
    try:
        replace_file(place, sign_statement(write_statement(statement), signer))
    except StoreError as error:
        raise InputTroubleError(str(error)) from error
    said = f"Set {version}, {len(files)} profiles, signed by {signer.station.code}: {place}"
    say_line(said, surroundings.stdout)
    return DONE


def _version(folder: Path, told: str | None) -> str:
    """As it was typed, else of the folder's own list."""
    if told is not None:
        return read_reason(told, "--version")
    if not (folder / SET_FILE).is_file():
        raise InputTroubleError(f"{folder}: no {SET_FILE} in it; give --version, such as 2026.3")
    try:
        return read_set(folder / SET_FILE)
    except ShippedFileError as error:
        raise InputTroubleError(error.what) from error


def _files_of(folder: Path) -> dict[str, Path]:
    try:
        found = profile_files(folder)
    except OSError as error:
        raise InputTroubleError(f"{folder}: cannot be listed: {error.strerror}") from error
    return {path.relative_to(folder).with_suffix("").as_posix(): path for path in found}
