"""The JSON Schemas: as the model has it now, and never stricter than the lint."""

import json
from importlib.util import module_from_spec, spec_from_file_location
from pathlib import Path
from types import ModuleType
from typing import Any

import pytest
from hypothesis import given
from jsonschema import Draft202012Validator

from closeout.expect.load import parse_any
from closeout.expect.mistake import Mistakes
from closeout.expect.shipped import shipped_folder
from strategies.profiles import profiles, spoilt, work_orders

TOOL = Path(__file__).resolve().parents[2] / "tools" / "generate_schemas.py"
SCHEMAS = {
    path.name: json.loads(path.read_text(encoding="utf-8"))
    for path in sorted((shipped_folder("profiles") / "schemas").glob("*.json"))
}
PROFILE = Draft202012Validator(SCHEMAS["profile-1.schema.json"])
WORK_ORDER = Draft202012Validator(SCHEMAS["work-order-1.schema.json"])


def load_tool() -> ModuleType:
    specification = spec_from_file_location("generate_schemas", TOOL)
    assert specification is not None
    assert specification.loader is not None
    module = module_from_spec(specification)
    specification.loader.exec_module(module)
    return module


@pytest.mark.skipif(not TOOL.is_file(), reason="the tools are in the checkout only")
def test_schemas_are_what_the_model_gives_now() -> None:
    tool = load_tool()
    assert {name: build() for name, build in tool.SCHEMAS.items()} == SCHEMAS


@pytest.mark.parametrize("name", SCHEMAS)
def test_schema_is_one(name: str) -> None:
    Draft202012Validator.check_schema(SCHEMAS[name])


def is_sound(tree: dict[str, Any]) -> bool:
    return not isinstance(parse_any("x", json.dumps(tree).encode()), Mistakes)


@given(profiles())
def test_sound_profile_meets_the_schema(tree: dict[str, Any]) -> None:
    assert is_sound(tree)
    assert [error.message for error in PROFILE.iter_errors(tree)] == []


@given(work_orders())
def test_sound_work_order_meets_the_schema(tree: dict[str, Any]) -> None:
    assert is_sound(tree)
    assert [error.message for error in WORK_ORDER.iter_errors(tree)] == []


@given(spoilt(profiles()))
def test_what_the_schema_refuses_of_a_profile_the_lint_refuses(tree: dict[str, Any]) -> None:
    assert PROFILE.is_valid(tree) or not is_sound(tree)


@given(spoilt(work_orders()))
def test_what_the_schema_refuses_of_an_order_the_lint_refuses(tree: dict[str, Any]) -> None:
    assert WORK_ORDER.is_valid(tree) or not is_sound(tree)
