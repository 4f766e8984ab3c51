"""The shipped examples: lint and JSON Schema say what stands beside them."""

import json
import tomllib
from pathlib import Path
from typing import Any

import pytest
from jsonschema import Draft202012Validator

from closeout.expect.load import parse_any
from closeout.expect.mistake import Mistakes
from closeout.expect.shipped import shipped_folder

PROFILES = shipped_folder("profiles")
EXAMPLES = PROFILES / "examples"
VALID = sorted((EXAMPLES / "valid").glob("*.*"))
SHAPE = sorted((EXAMPLES / "invalid" / "shape").glob("*.*[nl]"))
MEANING = sorted((EXAMPLES / "invalid" / "meaning").glob("*.*[nl]"))
OWN = [
    path
    for path in sorted([*PROFILES.glob("*.toml"), *PROFILES.glob("*/*.toml")])
    if path.parent.name not in {"demo", "findings", "kernel-log"}
]


NAMES = ("work-order", "repair-map")


def schema_of(tree: dict[str, Any]) -> Draft202012Validator:
    name = next((name for name in NAMES if name.replace("-", "_") in tree), "profile")
    text = (PROFILES / "schemas" / f"{name}-1.schema.json").read_text(encoding="utf-8")
    return Draft202012Validator(json.loads(text))


def read(path: Path) -> dict[str, Any]:
    text = path.read_text(encoding="utf-8")
    tree: dict[str, Any] = json.loads(text) if path.suffix == ".json" else tomllib.loads(text)
    return tree


def lint(path: Path) -> list[str]:
    outcome = parse_any(path.name, path.read_bytes())
    return outcome.show().split("\n") if isinstance(outcome, Mistakes) else []


def test_there_are_examples() -> None:
    assert len(VALID) >= 5
    assert len(SHAPE) >= 5
    assert len(MEANING) >= 5
    assert len(OWN) >= 1


@pytest.mark.parametrize("path", [*VALID, *OWN], ids=lambda path: path.name)
def test_valid_file_passes_both(path: Path) -> None:
    tree = read(path)
    assert lint(path) == []
    assert [error.message for error in schema_of(tree).iter_errors(tree)] == []


@pytest.mark.parametrize("path", [*SHAPE, *MEANING], ids=lambda path: path.name)
def test_mistakes_are_those_beside_the_file(path: Path) -> None:
    expected = path.with_name(f"{path.name}.expected").read_text(encoding="utf-8")
    assert lint(path) == expected.removesuffix("\n").split("\n")


@pytest.mark.parametrize("path", SHAPE, ids=lambda path: path.name)
def test_schema_refuses_too(path: Path) -> None:
    tree = read(path)
    assert not schema_of(tree).is_valid(tree)
