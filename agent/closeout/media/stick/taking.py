"""What is taken off the stick when a unit has started from it, so that it may be pulled."""

from __future__ import annotations

import re
import time
from collections.abc import Callable, Mapping
from pathlib import Path
from types import MappingProxyType
from typing import Final

from closeout.decode.failure import DecodeError
from closeout.media.shared import AGENT, LEAD, LEAD_FILE, ORDERS, PROFILES, STATION
from closeout.media.stick.door import Door
from closeout.media.stick.find import NoStick, Volume
from closeout.media.update import LARGEST, Refused, take_update
from closeout.model.frozen import frozen

OPTION: Final = re.compile(r"(?:^|\s)closeout\.stick=(\S*)")
VOLUME_ID: Final = re.compile(r"[0-9A-F]{4}-[0-9A-F]{4}")
WAIT_SECONDS: Final = 20.0
"""USB needs a second or two until a stick answers, behind a hub or after a retry some more."""
PAUSE: Final = 0.1
STATION_FILES: Final = ("station.key", "station.toml")
LARGEST_OF_STATION: Final = 1 << 16
STATEMENTS: Final = "*.jws"
MOST_STATEMENTS: Final = 16
LARGEST_OF_LEAD: Final = 1 << 20
UNSEALED: Final = "Reports are not sealed."
SUFFIXES: Final = (".toml", ".json")

Say = Callable[[str], None]


@frozen
class Taken:
    """What came off the stick; all empty where nothing did. `orders` are by their file names.

    `station` are the two files of the station that seals, or none; `lead` the record of who signs
    the profiles, and what was signed, or none.
    """

    agent: Mapping[str, bytes]
    profiles: Mapping[str, bytes]
    orders: Mapping[str, bytes]
    station: Mapping[str, bytes] = MappingProxyType({})
    lead: Mapping[str, bytes] = MappingProxyType({})


NOTHING: Final = Taken(agent={}, profiles={}, orders={})


def volume_id_in(command_line: str) -> str:
    """The stick's volume id, as the kernel's command line gives it; empty where it gives none."""
    found = OPTION.search(command_line)
    told = found[1].upper() if found else ""
    return told if VOLUME_ID.fullmatch(told) else ""


def wait_for_stick(volume_id: str, door: Door, seconds: float = WAIT_SECONDS) -> Volume | NoStick:
    """The stick, as soon as it answers; why there is none when the time is over."""
    until = time.monotonic() + seconds
    while isinstance(stick := door.find(volume_id), NoStick) and time.monotonic() < until:
        time.sleep(PAUSE)
    return stick


def take_from(stick: Volume, door: Door, say: Say) -> Taken:
    """The updates and orders of a stick; what cannot be taken is said, a line each."""
    try:
        with door.opened(stick, writable=False) as root:
            agent, profiles = _update(root, AGENT, say), _update(root, PROFILES, say)
            orders = _orders(root / ORDERS, say)
            station = _station(root / STATION, say)
            lead = _lead(root / LEAD, say)
    except OSError as failure:
        say(f"The stick {stick.volume_id} cannot be read: {failure.strerror}. Built in is used.")
        return NOTHING
    return Taken(agent=agent, profiles=profiles, orders=orders, station=station, lead=lead)


def _update(root: Path, what: str, say: Say) -> Mapping[str, bytes]:
    found = take_update(root, what)
    if isinstance(found, Refused):
        say(found.why)
        return {}
    return found


def _orders(folder: Path, say: Say) -> Mapping[str, bytes]:
    """Every file of an order, whoever put it there: what is in it is read when it is wanted."""
    orders: dict[str, bytes] = {}
    left = LARGEST
    try:
        files = sorted(folder.iterdir()) if folder.is_dir() else []
    except OSError as failure:
        say(f"orders/ on the stick cannot be read: {failure.strerror}.")
        return {}
    for file in files:
        if file.suffix.lower() not in SUFFIXES or file.name.startswith("."):
            continue
        try:
            content = _read(file, left)
        except (OSError, DecodeError) as failure:
            say(f"orders/{file.name} on the stick is not taken: {failure}.")
            continue
        left -= len(content)
        orders[file.name] = content
    return orders


def _station(folder: Path, say: Say) -> Mapping[str, bytes]:
    """The station that the stick is, where both of its files are there."""
    files: dict[str, bytes] = {}
    for name in STATION_FILES:
        try:
            with (folder / name).open("rb") as opened:
                files[name] = opened.read(LARGEST_OF_STATION)
        except FileNotFoundError:
            continue
        except OSError as failure:
            say(f"station/{name} on the stick cannot be read: {failure.strerror}. {UNSEALED}")
            return {}
    if len(files) == 1:
        (there,) = files
        say(f"station/ on the stick holds {there} alone. {UNSEALED}")
        return {}
    return files


def _lead(folder: Path, say: Say) -> Mapping[str, bytes]:
    """Whose signature over the profiles counts, and the newest of what was signed."""
    record = folder / LEAD_FILE
    if not record.is_file():
        return {}
    files = [record, *sorted(folder.glob(STATEMENTS))[-MOST_STATEMENTS:]]
    try:
        return {file.name: _read(file, LARGEST_OF_LEAD) for file in files}
    except (OSError, DecodeError) as failure:
        say(f"lead/ on the stick cannot be read: {failure}. Profiles are taken for unsigned.")
        return {}


def _read(file: Path, limit: int) -> bytes:
    with file.open("rb") as opened:
        raw = opened.read(limit + 1)
    if len(raw) > limit:
        raise DecodeError("order", 0, "larger than the memory is for")
    return raw
