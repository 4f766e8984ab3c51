"""The manual's pages about the command line, from its own parser."""

import argparse
from collections.abc import Iterator, Mapping
from typing import Final

from closeout.cli.main import make_parser
from closeout.cli.trouble import ExitCode
from manual_page import code, page, table

MEANINGS: Final[Mapping[ExitCode, str]] = {
    ExitCode.RELEASE: "`check`: release. Every other command: its work is done; `demo`: every"
    " shipped verdict came out as shipped",
    ExitCode.HOLD: "`check`: hold",
    ExitCode.BAD_INPUT: "bad input or usage; one line on the error stream says what and where."
    " `report verify`, `media verify`: something is not what it should be; `media reports`,"
    " `depot add`: one was not whole, or not taken; `depot forget`: something is left",
    ExitCode.UNDECIDED: "`check`: undecided",
    ExitCode.INTERNAL: "an error of closeout itself; please report it",
    ExitCode.INTERRUPTED: "stopped by the operator; nothing was decided",
}


def render_exit_codes() -> str:
    """How every command can end."""
    rows = [[str(int(ending)), MEANINGS[ending]] for ending in ExitCode]
    many = "For many units it is the first present of 4, 2, 1, 3, 0."
    return page("Exit codes", table(["code", "meaning"], rows), many)


def render_commands() -> str:
    """Every command with its options."""
    parser = make_parser()
    return page("Commands", parser.description or "", *_describe(parser))


def _describe(parser: argparse.ArgumentParser) -> Iterator[str]:
    """The commands under a parser, each with its own arguments and then its commands."""
    for action in parser._actions:  # noqa: SLF001 - argparse has no public list of them
        if isinstance(action, argparse._SubParsersAction):  # noqa: SLF001 - the same
            summaries = {choice.dest: choice.help or "" for choice in action._choices_actions}  # noqa: SLF001 - the same
            for name, command in action.choices.items():
                yield f"## {code(command.prog)}"
                yield f"{summaries.get(name, '').capitalize()}."
                yield from _arguments(command)
                yield from _describe(command)


def _arguments(parser: argparse.ArgumentParser) -> Iterator[str]:
    rows = [
        [code(_signature(action)), _explanation(action)]
        for action in parser._actions  # noqa: SLF001 - argparse has no public list of them
        if action.dest != "help" and not isinstance(action, argparse._SubParsersAction)  # noqa: SLF001 - the same
    ]
    if rows:
        yield table(["argument", "meaning"], rows)


def _signature(action: argparse.Action) -> str:
    """`--out DIR`, `-o, --output FILE`, `FILE...`."""
    value = _value_name(action)
    if not action.option_strings:
        return value + ("..." if action.nargs in {"+", "*"} else "")
    options = ", ".join(action.option_strings)
    return options if action.nargs == 0 else f"{options} {value}"


def _value_name(action: argparse.Action) -> str:
    if action.metavar is not None:
        return str(action.metavar)
    if action.choices is not None:
        return "|".join(str(choice) for choice in action.choices)
    return action.dest.upper()


def _explanation(action: argparse.Action) -> str:
    said = (action.help or "").replace("%(default)s", str(action.default))
    return f"{said} (required)" if action.required and action.option_strings else said
