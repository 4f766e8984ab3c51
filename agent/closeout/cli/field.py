"""`closeout field`: what a value of a field is, or which of two firmware versions is older."""

from __future__ import annotations

import argparse
from collections.abc import Iterator
from typing import Final

from closeout.cli.surroundings import Surroundings
from closeout.cli.trouble import DONE, ExitCode
from closeout.cli.words import say_json
from closeout.decode.filler import classify
from closeout.decode.version_order import Order, compare_versions

NOT_A_PAIR: Final = "the line holds no tab between an older and a newer version"


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Adds the two modes, of which one must be chosen."""
    mode = parser.add_mutually_exclusive_group(required=True)
    mode.add_argument(
        "--field", metavar="'STRUCTURE/FIELD'", help="judge values: 'System/Serial Number'"
    )
    mode.add_argument("--order", action="store_true", help="compare pairs OLDER<TAB>NEWER")


def run(options: argparse.Namespace, surroundings: Surroundings) -> ExitCode:
    """Answers every line of the standard input with one JSON object."""
    ending = DONE
    for line in _lines(surroundings):
        answer = _order(line) if options.order else _state(options.field, line)
        if answer.get("reason") == NOT_A_PAIR:
            ending = ExitCode.BAD_INPUT
        say_json(answer, surroundings)
    return ending


def _lines(surroundings: Surroundings) -> Iterator[str]:
    """The lines with nothing but their newline taken away; bytes that are no UTF-8 survive."""
    for raw in surroundings.stdin:
        yield raw.removesuffix(b"\n").decode("utf-8", "surrogateescape")


def _state(field: str, value: str) -> dict[str, str]:
    classification = classify(field, value)
    return {"state": classification.state.value, "reason": classification.reason}


def _order(line: str) -> dict[str, str]:
    older, tab, newer = line.partition("\t")
    if not tab:
        return {"order": Order.UNKNOWN.value, "reason": NOT_A_PAIR}
    comparison = compare_versions(older, newer)
    return {"order": comparison.order.value, "reason": comparison.reason}
