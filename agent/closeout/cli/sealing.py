"""Whether a report is sealed, and by which station: options and variables to a signer."""

from __future__ import annotations

import argparse
import os
from collections.abc import Mapping
from pathlib import Path
from typing import TYPE_CHECKING, Final

from closeout.cli.files import read_file
from closeout.cli.surroundings import Surroundings
from closeout.cli.trouble import InputTroubleError
from closeout.cli.words import say_line
from closeout.model.moment import Moment
from closeout.model.station import Standing, standing_on

if TYPE_CHECKING:
    from closeout.report.seal import Signer

FOLDER: Final = "CLOSEOUT_STATION_KEY"
PASSPHRASE: Final = "CLOSEOUT_STATION_PASSPHRASE"  # noqa: S105 - the name of a variable
LONGEST_PASSPHRASE: Final = 1024
NOT_STARTED: Final = "the library that seals does not start here"
NEEDED: Final = "sealing needs the library joserfc: install closeout[seal]"
DOUBTS: Final = {
    Standing.TOO_EARLY: "not valid before {first}: the clock is behind, and verifiers are told",
    Standing.TOO_LATE: "valid until {last}: {refused}",
    Standing.REVOKED: "revoked: {refused}",
    Standing.REVOKED_SINCE: "revoked: {refused}",
}
DOUBTED: Final = "sealed on {day} by {code}, whose key is {why}"
REFUSED: Final = (
    "whoever verifies it will not accept the seal; look at the clock, or make another key with"
    " closeout station init"
)


class LockedKeyError(InputTroubleError):
    """The station's key has a pass phrase, and none was given."""


def add_sealing_arguments(parser: argparse.ArgumentParser) -> None:
    """Adds where the station's key is, and what opens it."""
    parser.add_argument(
        "--station-key",
        metavar="DIR",
        type=Path,
        help=f"sign as this station, made by `station init` (else: ${FOLDER})",
    )
    parser.add_argument(
        "--passphrase",
        metavar="FILE",
        type=Path,
        help=f"file with the pass phrase of the station's key (else: ${PASSPHRASE}, a file too)",
    )


def find_signer(options: argparse.Namespace) -> Signer | None:
    """The station that seals; None where none is named.

    Raises InputTroubleError where its key cannot be used: a report that should be sealed is not
    written without.
    """
    folder = options.station_key or _named(FOLDER)
    if folder is None:
        return None
    return open_station(folder, read_passphrase(options.passphrase or _named(PASSPHRASE)))


def open_station(folder: Path, passphrase: bytes | None) -> Signer:
    """The station of a folder with its key open. Raises InputTroubleError."""
    try:
        from closeout.cli.station_key import load_signer  # noqa: PLC0415 - only with a key

        return load_signer(folder, passphrase)
    except ImportError as error:
        raise InputTroubleError(NEEDED) from error
    except RuntimeError as error:  # what the library in native code has where it cannot start
        raise InputTroubleError(f"{NOT_STARTED}: {str(error).split('. ')[0]}") from error


def seal_files(raw: bytes, signer: Signer | None, stem: str = "report") -> Mapping[str, bytes]:
    """The seal over these bytes, by the name of its file; nothing without a station."""
    if signer is None:
        return {}
    from closeout.report.seal import make_seal  # noqa: PLC0415 - only with a key

    return {f"{stem}.jws": make_seal(raw, signer)}


def doubt_seal(signer: Signer | None, written: Moment) -> tuple[str, ...]:
    """What whoever verifies will hold against the seal of that day, in a line; mostly nothing."""
    if signer is None:
        return ()
    station, day = signer.station, written.text.partition("T")[0]
    why = DOUBTS.get(standing_on(station, day), "")
    why = why.format(first=station.first_day, last=station.last_day, refused=REFUSED)
    return (DOUBTED.format(code=station.code, why=why, day=day),) if why else ()


def say_doubt(signer: Signer | None, written: Moment, surroundings: Surroundings) -> None:
    """The same, to whoever sits there: a key expires, and the check goes on all the same."""
    for line in doubt_seal(signer, written):
        say_line(f"closeout: {line}", surroundings.stderr)


def read_passphrase(file: Path | None) -> bytes | None:
    """The first line of the file; None without one. Raises InputTroubleError where it is empty."""
    if file is None:
        return None
    passphrase = read_file(file, LONGEST_PASSPHRASE).split(b"\n")[0].rstrip(b"\r")
    if not passphrase:
        raise InputTroubleError(f"{file}: its first line is empty; write the pass phrase there")
    return passphrase


def _named(variable: str) -> Path | None:
    told = os.environ.get(variable)
    return Path(told) if told else None
