"""`closeout station`: the key that a work place seals its reports with."""

from __future__ import annotations

import argparse
from pathlib import Path
from time import gmtime, strftime
from typing import Final

from closeout.cli.sealing import NEEDED, read_passphrase
from closeout.cli.station_records import RECORD_FILE, load_station, load_stations
from closeout.cli.surroundings import Surroundings
from closeout.cli.trouble import DONE, ExitCode, InputTroubleError
from closeout.cli.typed_text import read_reason
from closeout.cli.words import say_line
from closeout.expect.mistake import Mistakes
from closeout.expect.station_file import DAY_RULE, is_day, parse_station, write_station
from closeout.model.frozen import replace
from closeout.model.station import Revocation, Station
from closeout.report.failure import StoreError
from closeout.report.seal import thumbprint
from closeout.report.store import replace_file, write_file

YEAR_SECONDS: Final = 366 * 86_400
OPEN_TO_OTHERS: Final = (
    "Its file system knows no owners: whoever has it can seal as this station. Lock the key with"
    " --passphrase, and revoke it when it is lost."
)


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Adds the actions."""
    actions = parser.add_subparsers(dest="action", required=True, metavar="ACTION")
    init = actions.add_parser("init", help="make a station's key and its public record")
    init.add_argument("folder", metavar="DIR", type=Path, help="where to, a stick's station/ say")
    init.add_argument("--code", metavar="CODE", required=True, help="what the station is called")
    init.add_argument("--first-day", metavar="DAY", help="of its validity (else: today)")
    init.add_argument("--last-day", metavar="DAY", help="(else: a year from today)")
    init.add_argument(
        "--passphrase", metavar="FILE", type=Path, help="lock the key with its first line"
    )
    listed = actions.add_parser("list", help="the stations of a folder of public records")
    listed.add_argument("folder", metavar="DIR", type=Path)
    revoke = actions.add_parser("revoke", help="say that a key proves nothing any more")
    revoke.add_argument("record", metavar="FILE", type=Path, help="the station's public record")
    revoke.add_argument("--reason", metavar="TEXT", required=True)
    revoke.add_argument("--on", metavar="DAY", help="from which day on (else: today)")


def run(options: argparse.Namespace, surroundings: Surroundings) -> ExitCode:
    """Calls the action."""
    {"init": _init, "list": _list, "revoke": _revoke}[options.action](options, surroundings)
    return DONE


def _init(options: argparse.Namespace, surroundings: Surroundings) -> None:
    passphrase = read_passphrase(options.passphrase)
    first = _read_day(options.first_day, "--first-day") or _day(surroundings.now())
    last = _read_day(options.last_day, "--last-day") or _day(surroundings.now() + YEAR_SECONDS)
    try:
        from closeout.cli import station_key  # noqa: PLC0415 - checks do without it
    except ImportError as error:
        raise InputTroubleError(NEEDED) from error
    code = read_reason(options.code, "--code")
    pem, key = station_key.make_key(passphrase)
    station = Station(code=code, key=key, first_day=first, last_day=last)
    secret, record = options.folder / station_key.KEY_FILE, options.folder / RECORD_FILE
    text = _text_of(station, "the record")
    try:
        options.folder.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise InputTroubleError(f"{options.folder}: cannot be made: {error.strerror}") from error
    station_key.write_secret(secret, pem)
    try:
        write_file(record, text)
    except StoreError as error:
        secret.unlink()  # of a key that nobody has a record of
        raise InputTroubleError(str(error)) from error
    said = [
        f"Station {station.code}: {_validity(station)}.",
        f"Private key: {secret}; it never leaves this folder.",
        *([OPEN_TO_OTHERS] if station_key.others_may_read(secret) else []),
        f"Public record: {record}; copy it to whoever verifies.",
    ]
    for line in said:
        say_line(line, surroundings.stdout)


def _list(options: argparse.Namespace, surroundings: Surroundings) -> None:
    stations = load_stations(options.folder)
    for station in stations:
        name = thumbprint(station.key)
        say_line(f"{station.code}: {_validity(station)}; key {name}", surroundings.stdout)
    if not stations:
        say_line(f"{options.folder}: no station records in it", surroundings.stdout)


def _revoke(options: argparse.Namespace, surroundings: Surroundings) -> None:
    station = load_station(options.record)
    if station.revoked:
        raise InputTroubleError(f"{options.record}: {_validity(station)}, and stays so")
    day = _read_day(options.on, "--on") or _day(surroundings.now())
    reason = read_reason(options.reason, "--reason")
    revoked = replace(station, revoked=Revocation(on=day, reason=reason))
    try:
        replace_file(options.record, _text_of(revoked, "--reason"))
    except StoreError as error:
        raise InputTroubleError(str(error)) from error
    say_line(f"Station {station.code}: {_validity(revoked)}.", surroundings.stdout)


def _text_of(station: Station, told: str) -> bytes:
    """The file of a record, which must read back as that record. Raises InputTroubleError."""
    text = write_station(station).encode()
    again = parse_station(told, text)
    if isinstance(again, Mistakes):
        raise InputTroubleError(*(f"{one.key}: {one.wrong}" for one in again.found))
    return text


def _read_day(text: str | None, name: str) -> str:
    if text is not None and not is_day(text):
        raise InputTroubleError(f"{name}: {text!r} is no day; allowed: {DAY_RULE}")
    return text or ""


def _day(seconds: float) -> str:
    return strftime("%Y-%m-%d", gmtime(seconds))


def _validity(station: Station) -> str:
    if station.revoked:
        return f"revoked on {station.revoked.on}: {station.revoked.reason}"
    return f"valid from {station.first_day} to {station.last_day}"
