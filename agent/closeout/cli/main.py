"""The command line: one parser, one command called, one exit code."""

from __future__ import annotations

import argparse
import errno
import gc
import os
import sys
from collections.abc import Sequence
from contextlib import suppress
from importlib import import_module
from typing import Final, NoReturn

from closeout import VERSION
from closeout.cli.plain import terminal_width
from closeout.cli.surroundings import Surroundings, real_surroundings
from closeout.cli.trouble import ExitCode, InputTroubleError
from closeout.cli.words import say_line

STOPPED: Final = "stopped by the operator before the end"
NO_ROOM: Final = frozenset({errno.ENOSPC, errno.EDQUOT, errno.EFBIG, errno.EIO})

COMMANDS: Final = (
    ("check", "check", "judge the unit and write the report"),
    ("guide", "guide", "check one unit after the other at the terminal"),
    ("answer", "answer", "say yes or no to a finding of a report"),
    ("concede", "concede", "accept a failed demand of a report, in writing"),
    ("unrun", "unrun", "record a unit that was not checked, and why"),
    ("report", "report", "verify what was written, and put it on paper: document, label"),
    ("station", "station", "look after the keys that work places seal reports with"),
    ("show", "show", "list what the kernel can see, without judging"),
    ("capture", "capture", "record every reading to one evidence file"),
    ("decode", "decode", "decode firmware tables out of files"),
    ("field", "field", "say what a field's value is, or which firmware is older"),
    ("profile", "profiles", "look after the files that say what a model must have"),
    ("repairs", "repairs", "say what a repair disturbs and what proves it good"),
    ("order", "order", "print the answer card"),
    ("depot", "depot", "keep the reports of many units, and ask what they say together"),
    ("media", "media", "look after the stick that boots a unit into the check"),
    ("demo", "demo", "judge the shipped demo units"),
)
"""Each with its module in this package, which is loaded when the command is called."""


class Help(argparse.HelpFormatter):
    """Help as wide as the terminal, which the standard library would load an archiver to learn."""

    def __init__(self, prog: str) -> None:
        super().__init__(prog, width=terminal_width() - 2)


def make_parser(only: str | None = None) -> argparse.ArgumentParser:
    """The whole command line; the manual is made from it.

    With `only` the arguments of that one command: the modules of all others stay unloaded.
    """
    parser = argparse.ArgumentParser(
        prog="closeout",
        formatter_class=Help,
        description="Shows that a notebook is fit to go back after a repair.",
        epilog="check ends with 0 release, 1 hold, 2 bad input, 3 undecided, 4 our own error.",
    )
    parser.add_argument("--version", action="version", version=f"closeout {VERSION}")
    commands = parser.add_subparsers(
        dest="command", required=True, metavar="COMMAND", prog="closeout"
    )
    known = [name for name, _, _ in COMMANDS]
    for name, module_name, summary in COMMANDS:
        if only in known and name != only:
            continue  # nobody asks what else there is
        command = commands.add_parser(name, help=summary, formatter_class=Help)
        if only in {None, name}:
            module = import_module(f"closeout.cli.{module_name}")
            command.description = module.__doc__
            module.add_arguments(command)
            command.set_defaults(run=module.run)
    return parser


def call(arguments: Sequence[str], surroundings: Surroundings) -> int:
    """Runs one command; every trouble becomes a line on the error stream."""
    words = (argument for argument in arguments if not argument.startswith("-"))
    try:
        options = make_parser(next(words, "")).parse_args(arguments)
        _refuse_impossible(arguments)
        ending: int = options.run(options, surroundings)
        surroundings.stdout.flush()
    except InputTroubleError as trouble:
        return _say(surroundings, ExitCode.BAD_INPUT, *trouble.lines)
    except KeyboardInterrupt:
        return _say(surroundings, ExitCode.INTERRUPTED, STOPPED)
    except BrokenPipeError:
        raise
    except Exception as error:  # noqa: BLE001 - the last net: no traceback reaches a user
        if isinstance(error, OSError) and _is_of_output(error):
            wrong = f"the output takes no more: {error.strerror}"
            return _say(surroundings, ExitCode.BAD_INPUT, wrong)
        fault = f"{type(error).__name__}: {error}"
        return _say(
            surroundings,
            ExitCode.INTERNAL,
            f"an error of closeout itself ({fault}); please report it",
        )
    return ending


def run() -> NoReturn:
    """The console entry point.

    A run is short and makes hardly a cycle: to look for garbage in it, and at its end to go through
    all that is left, takes as long as to judge a unit.
    """
    gc.disable()
    try:
        ending = call(sys.argv[1:], real_surroundings())
    except BrokenPipeError:
        ending = ExitCode.BAD_INPUT  # whoever read our output went away
    finally:
        _abandon_broken_streams()
    gc.freeze()
    sys.exit(ending)


def _refuse_impossible(arguments: Sequence[str]) -> None:
    """An empty argument is a variable that was not set: it must not mean the current folder."""
    for argument in arguments:
        try:
            is_name = argument != "" and b"\0" not in os.fsencode(argument)
        except UnicodeEncodeError:
            is_name = False
        if not is_name:
            raise InputTroubleError(f"{argument!r}: no name that a file can have")


def _is_of_output(error: OSError) -> bool:
    """Whether a stream took no more: files that are named have had their own line."""
    return error.filename is None and error.errno in NO_ROOM


def _abandon_broken_streams() -> None:
    """What could not be said is dropped, or the interpreter would fail over it at its end."""
    for stream in (sys.stdout, sys.stderr):
        try:
            if stream:
                stream.flush()
        except OSError:
            os.dup2(os.open(os.devnull, os.O_WRONLY), stream.fileno())


def _say(surroundings: Surroundings, ending: ExitCode, *lines: str) -> ExitCode:
    with suppress(OSError):  # with nobody to tell, the exit code still counts
        for line in lines:
            say_line(f"closeout: {line}", surroundings.stderr)
    return ending
