"""The command line: one parser, one command called, one exit code."""

import argparse
import os
import sys
from collections.abc import Sequence
from typing import NoReturn

from closeout import VERSION
from closeout.cli import capture, check, decode, demo, field, profiles, show
from closeout.cli.surroundings import Surroundings, real_surroundings
from closeout.cli.trouble import ExitCode, InputTroubleError

COMMANDS = (
    ("check", check, "judge the unit and write the report"),
    ("show", show, "list what the kernel can see, without judging"),
    ("capture", capture, "record every reading to one evidence file"),
    ("decode", decode, "decode firmware tables out of files"),
    ("field", field, "say what a field's value is, or which firmware is older"),
    ("profile", profiles, "look after the files that say what a model must have"),
    ("demo", demo, "judge the shipped demo units"),
)


def make_parser() -> argparse.ArgumentParser:
    """The whole command line; the manual is made from it."""
    parser = argparse.ArgumentParser(
        prog="closeout",
        description="Shows that a notebook is fit to go back after a repair.",
        epilog="check ends with 0 release, 1 hold, 2 bad input, 3 undecided, 4 our own error.",
    )
    parser.add_argument("--version", action="version", version=f"closeout {VERSION}")
    commands = parser.add_subparsers(dest="command", required=True, metavar="COMMAND")
    for name, module, summary in COMMANDS:
        command = commands.add_parser(name, help=summary, description=module.__doc__)
        module.add_arguments(command)
        command.set_defaults(run=module.run)
    return parser


def call(arguments: Sequence[str], surroundings: Surroundings) -> int:
    """Runs one command; every trouble becomes one line on the error stream."""
    options = make_parser().parse_args(arguments)
    try:
        ending: int = options.run(options, surroundings)
        surroundings.stdout.flush()
    except InputTroubleError as trouble:
        _say(surroundings, str(trouble))
        return ExitCode.BAD_INPUT
    except KeyboardInterrupt:
        _say(surroundings, "stopped by the operator; nothing was decided")
        return ExitCode.INTERRUPTED
    except BrokenPipeError:
        raise
    except Exception as error:  # noqa: BLE001 - the last net: no traceback reaches a user
        name = type(error).__name__
        _say(surroundings, f"an error of closeout itself ({name}: {error}); please report it")
        return ExitCode.INTERNAL
    return ending


def run() -> NoReturn:
    """The console entry point."""
    try:
        ending = call(sys.argv[1:], real_surroundings())
    except BrokenPipeError:
        # The reader of our output went away; nothing more can be said to it.
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        ending = ExitCode.BAD_INPUT
    sys.exit(ending)


def _say(surroundings: Surroundings, message: str) -> None:
    surroundings.stderr.write(f"closeout: {' '.join(message.split())}\n")
