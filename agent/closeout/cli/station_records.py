"""The public records of stations, as they lie in files."""

from __future__ import annotations

from pathlib import Path
from typing import Final

from closeout.cli.files import read_file
from closeout.cli.trouble import InputTroubleError
from closeout.expect.document import LARGEST_FILE
from closeout.expect.mistake import Mistakes
from closeout.expect.station_file import parse_station
from closeout.model.station import Station
from closeout.report.seal import thumbprint

RECORD_FILE: Final = "station.toml"
SUFFIX: Final = ".toml"


def load_station(file: Path) -> Station:
    """The record in a file. Raises InputTroubleError with every mistake."""
    station = parse_station(str(file), read_file(file, LARGEST_FILE))
    if isinstance(station, Mistakes):
        raise InputTroubleError(*(mistake.show() for mistake in station.found))
    return station


def load_stations(folder: Path) -> tuple[Station, ...]:
    """Every record of a folder, by the names of the files.

    Raises InputTroubleError, also where two of them have one key: whose would a seal be?
    """
    try:
        files = sorted(path for path in folder.iterdir() if path.suffix == SUFFIX)
    except OSError as error:
        raise InputTroubleError(
            f"{folder}: cannot be listed: {error.strerror}; give a folder of station records"
        ) from error
    stations: dict[str, tuple[Path, Station]] = {}
    for file in files:
        station = load_station(file)
        name = thumbprint(station.key)
        if name in stations:
            raise InputTroubleError(f"{file}: the same key as {stations[name][0]}; keep one")
        stations[name] = file, station
    return tuple(station for _, station in stations.values())
