"""`closeout repairs`: what each repair disturbs, how it fails, and what proves it good."""

from __future__ import annotations

import argparse
from collections.abc import Iterator
from typing import Final

from closeout.cli.named_repairs import read_repairs
from closeout.cli.surroundings import Surroundings
from closeout.cli.trouble import DONE, ExitCode
from closeout.cli.words import say_line
from closeout.expect.repair_map import load_repair_map
from closeout.judge.wording import show_demand
from closeout.model.expectation import Expectation
from closeout.model.repair_map import Connection, RepairMap

BASIS: Final = "Common practice of the trade; the maker's service instructions come first."


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Adds the repairs to tell more of."""
    parser.add_argument("names", metavar="NAME", nargs="*", help="else: all, a line each")


def run(options: argparse.Namespace, surroundings: Surroundings) -> ExitCode:
    """Lists the repairs, or tells everything about those that are named."""
    names = read_repairs(options.names, "repairs")
    repair_map = load_repair_map()
    lines = _describe_all(repair_map, names) if names else _list_all(repair_map)
    for line in lines:
        say_line(line, surroundings.stdout)
    return DONE


def _list_all(repair_map: RepairMap) -> Iterator[str]:
    for repair in repair_map.repairs.values():
        asked = sum(bool(each.question) for each in repair_map.disturbed_by([repair.id]))
        yield f"{repair.id}: disturbs {len(repair.disturbs)}, asks {asked}"
    yield f"{BASIS} {repair_map.source.name} {repair_map.source.revision}"


def _describe_all(repair_map: RepairMap, names: tuple[str, ...]) -> Iterator[str]:
    for connection in repair_map.disturbed_by(names):
        yield from _describe(connection)
    yield BASIS


def _describe(connection: Connection) -> Iterator[str]:
    yield f"{connection.name} ({connection.place})"
    yield f"  carries {connection.carries}"
    yield f"  fails: {'; '.join(connection.fails)}"
    yield f"  good is: {connection.proof}"
    for demand in connection.demands:
        yield f"  read: {_tell(demand)}"
    if connection.question:
        yield f"  asked: {connection.question}"
    if connection.caution:
        yield f"  caution: {connection.caution}"


def _tell(demand: Expectation) -> str:
    return f"{demand.rule}, {show_demand(demand.demand, '')} ({demand.weight.value})"
