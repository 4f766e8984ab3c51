"""`closeout media update`: orders, profiles or the agent put on a stick that is mounted.

Profiles and the agent get the list of their digests, by which alone a unit takes them; profiles are
laid over the built-in ones, file by file. Orders are plain files: a desktop can put them there too.
"""

from __future__ import annotations

import argparse
import os
from collections.abc import Mapping
from pathlib import Path
from typing import Final

from closeout.cli.files import read_file
from closeout.cli.surroundings import Surroundings
from closeout.cli.trouble import DONE, ExitCode, InputTroubleError
from closeout.cli.words import say_line
from closeout.decode.failure import DecodeError
from closeout.decode.update_list import LONGEST, decode_update_list
from closeout.expect.load import Mistakes, load_work_order
from closeout.media.shared import AGENT, ORDERS, PROFILES, REPORTS
from closeout.media.stick.taking import SUFFIXES
from closeout.media.update import (
    LARGEST,
    LIST,
    UpdateError,
    gather,
    gather_agent,
    with_list,
)

README: Final = "README.txt"
UNFINISHED: Final = b"# closeout: an update that was not finished; write it again\n"
NO_STICK: Final = "no reports/ in it; give the folder where a stick of closeout is mounted"


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Adds the stick and what goes on it."""
    parser.add_argument("folder", metavar="FOLDER", type=Path, help="where the stick is mounted")
    parser.add_argument("--orders", metavar="DIR", type=Path, help="folder of order files")
    parser.add_argument("--profiles", metavar="DIR", type=Path, help="folder of profiles")
    parser.add_argument(
        "--agent", metavar="WHEEL|DIR", type=Path, help="a wheel of closeout, or its source folder"
    )


def run(options: argparse.Namespace, surroundings: Surroundings) -> ExitCode:
    """Reads all that was named before anything is written."""
    stick: Path = options.folder
    if not (stick / REPORTS).is_dir():
        raise InputTroubleError(f"{stick}: {NO_STICK}")
    try:
        updates = dict(_gathered(options))
        if not updates:
            raise InputTroubleError("nothing to put there: give --orders, --profiles or --agent")
        for what in updates:
            _refuse_strange(stick / what)
        for what, files in updates.items():
            _put(stick / what, files if what == ORDERS else with_list(files))
            say_line(f"{stick / what}: files written: {len(files)}", surroundings.stdout)
    except UpdateError as error:
        raise InputTroubleError(str(error)) from error
    except OSError as error:
        raise InputTroubleError(
            f"{error.filename or stick}: {error.strerror}; the stick is not up to date"
        ) from error
    say_line("Eject the stick before pulling it out.", surroundings.stdout)
    return DONE


def _gathered(options: argparse.Namespace) -> Mapping[str, Mapping[str, bytes]]:
    """The files of each folder that is to be put there."""
    found: dict[str, Mapping[str, bytes]] = {}
    if options.agent is not None:
        found[AGENT] = gather_agent(options.agent)
    if options.profiles is not None:
        found[PROFILES] = _folder(options.profiles)
    if options.orders is not None:
        found[ORDERS] = _orders(options.orders)
    for what, files in found.items():
        if not files:
            raise InputTroubleError(f"--{what}: no file in it")
        if sum(map(len, files.values())) > LARGEST:
            raise InputTroubleError(f"--{what}: more than {LARGEST >> 20} MiB; is it the folder?")
    return found


def _folder(folder: Path) -> Mapping[str, bytes]:
    if not folder.is_dir():
        raise InputTroubleError(f"{folder}: no such folder")
    return gather(folder)


def _orders(folder: Path) -> Mapping[str, bytes]:
    """Orders that can be read; one with a mistake is told now, and not beside a unit."""
    orders: dict[str, bytes] = {}
    wrong: list[str] = []
    for name, content in _folder(folder).items():
        if "/" in name or not name.lower().endswith(SUFFIXES):
            continue
        loaded = load_work_order(folder / name)
        if isinstance(loaded, Mistakes):
            wrong += [mistake.show() for mistake in loaded.found]
        orders[name] = content
    if wrong:
        raise InputTroubleError(*wrong)
    return orders


def _refuse_strange(folder: Path) -> None:
    """A folder that was not written by this command is not a stick's: a checkout has such, too."""
    if folder.name == ORDERS or not folder.is_dir() or (folder / LIST).is_file():
        return
    if any(not file.name.startswith(".") and file.name != README for file in folder.iterdir()):
        raise InputTroubleError(f"{folder}: holds files of something else; is it the stick?")


def _put(folder: Path, files: Mapping[str, bytes]) -> None:
    """New files in place of the old; the list is void at first, and whole when all is there."""
    folder.mkdir(exist_ok=True)
    if LIST in files:
        old = _listed(folder / LIST)
        _write(folder / LIST, UNFINISHED)
        for name in old:
            (folder / name).unlink(missing_ok=True)
    for name, content in files.items():
        _write(folder / name, content)


def _listed(file: Path) -> tuple[str, ...]:
    """What the update before put there."""
    try:
        return tuple(decode_update_list(read_file(file, LONGEST)).digests) if file.exists() else ()
    except DecodeError:
        return ()


def _write(file: Path, content: bytes) -> None:
    file.parent.mkdir(parents=True, exist_ok=True)
    with file.open("wb") as opened:
        opened.write(content)
        opened.flush()
        os.fsync(opened.fileno())
