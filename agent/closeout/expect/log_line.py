"""One known line of the kernel's log, as a table of a file has it."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Final

from closeout.expect.document import is_list
from closeout.expect.mistake import KeyPath, quote
from closeout.expect.pattern import MOST_QUICK_WAYS, fault_of_pattern, ways_of
from closeout.expect.proofreader import Proofreader
from closeout.model.log_rules import LogRule

LINE_KEYS: Final = ("pattern", "meaning", "examples")
MOST_LINES: Final = 500
MOST_EXAMPLES: Final = 10
LONGEST_EXAMPLE: Final = 400
MOST_LINE_WAYS: Final = 16 * MOST_QUICK_WAYS
"""One open repeat and a few alternatives; a pattern is tried at every place of a line."""


def read_lines(
    proof: Proofreader, path: KeyPath, value: object
) -> Iterator[tuple[KeyPath, LogRule, tuple[str, ...]]]:
    """Each rule of a list with its place and its examples; what is wrong with any is noted."""
    seen: dict[str, KeyPath] = {}
    for place, table in proof.tables(path, value, MOST_LINES):
        rule, examples = _read_line(proof, place, table)
        if rule.pattern in seen:
            line = proof.line(seen[rule.pattern])
            proof.note((*place, "pattern"), f"the same pattern as on line {line}")
        seen.setdefault(rule.pattern, place)
        yield place, rule, examples


def _read_line(
    proof: Proofreader, path: KeyPath, table: Mapping[str, object]
) -> tuple[LogRule, tuple[str, ...]]:
    proof.known_keys(path, table, LINE_KEYS)
    proof.required(path, table, *LINE_KEYS)
    pattern = proof.text((*path, "pattern"), table["pattern"]) if "pattern" in table else None
    meaning = proof.text((*path, "meaning"), table["meaning"]) if "meaning" in table else None
    examples = tuple(_read_examples(proof, path, table))
    if pattern is not None:
        if fault := fault_of_line(pattern):
            proof.note((*path, "pattern"), fault)
        else:
            _try_examples(proof, path, pattern, examples)
    return LogRule(pattern=pattern or "", meaning=meaning or ""), examples


def fault_of_line(pattern: str) -> str:
    """What is wrong with a pattern that is sought anywhere in a long line, or nothing."""
    fault = fault_of_pattern(pattern)
    if fault or ways_of(pattern) <= MOST_LINE_WAYS:
        return fault
    return "can be tried in too many ways for a long line; repeat one part without an end at most"


def _read_examples(proof: Proofreader, path: KeyPath, table: Mapping[str, object]) -> Iterator[str]:
    value = table.get("examples", [""])
    if is_list(value) and not value:
        proof.note((*path, "examples"), "none is given, so nobody knows that the pattern matches")
    if "examples" in table:
        for place, item in proof.items((*path, "examples"), value, MOST_EXAMPLES):
            if text := proof.text(place, item, LONGEST_EXAMPLE):
                yield text


def _try_examples(
    proof: Proofreader, path: KeyPath, pattern: str, examples: tuple[str, ...]
) -> None:
    for example in examples:
        if not LogRule(pattern=pattern, meaning="").is_found_in(example):
            wrong = f"the pattern is not found in its own example {quote(example)}"
            proof.note((*path, "pattern"), wrong)
